// Makes samples/rooms/quillhaven.xlsx out of quillhaven.csv: the same panels as a German-speaking colleague keeps them,
// with what spreadsheets do to such a list. The same bytes every time: node samples/make-room-workbook.mjs [out.xlsx]
// Parts and elements: ECMA-376 part 1, 18.2 (workbook), 18.3 (sheets), 18.4 (shared strings), 18.8 (styles).
import { createWriteStream, readFileSync } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';
import { ZipFile } from 'yazl';

const here = (name) => fileURLToPath(new URL(`rooms/${name}`, import.meta.url));
const [out = here('quillhaven.xlsx')] = process.argv.slice(2);

/** Places in cellXfs below. */
const style = { plain: 0, date: 1, dayAndMonth: 2, asset: 3 };
const columns = ['room', 'label', 'running', 'serial', 'asset', 'notes', 'mode', 'approval'];
const headings = [
  ...['Raum', 'Typenschild', 'Firmwarestand', 'Seriennummer', 'Inventar-Nr.', 'Bemerkungen', 'Modus', 'Freigabe durch'],
];

function readPanels() {
  // A spreadsheet knows no open quotation marks and no moved cells: these two lines are sound here.
  const text = readFileSync(here('quillhaven.csv'), 'utf8')
    .replace('Quill Lane Drama;"', 'Quill Lane Drama;')
    .replace('mind the dust; port', 'mind the dust, port');
  const records = parse(text, {
    bom: true,
    delimiter: ';',
    from_line: 5,
    relax_column_count: true,
    relax_quotes: true,
  });
  return records
    .filter(([room]) => room !== 'Room' && room !== 'Total')
    .map((record) => Object.fromEntries(columns.map((name, index) => [name, record[index] ?? ''])));
}

const toXml = (text) =>
  text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('"', '&quot;')
    .replace(/[\0-\x08\x0B\x0C\x0E-\x1F]/g, (sign) => `_x${sign.charCodeAt(0).toString(16).padStart(4, '0')}_`);

const strings = new Map();
function shared(text) {
  if (!strings.has(text)) strings.set(text, strings.size);
  return { type: 's', value: strings.get(text) };
}
const number = (value, format = style.plain) => ({ value, format });
/** Days from 1899-12-30 (18.17.4.1, 1900 date system). */
const date = (iso, format) => number(Date.parse(`${iso}T00:00:00Z`) / 86_400_000 + 25_569, format);

/** What the spreadsheet holds in place of the text, by room and field; in 1.02 somebody typed a day for a build. */
const changed = {
  'Fernmoor 1.02': { running: date('2024-01-17', style.date) },
  'Fernmoor 1.12': { running: { type: 'e', value: '#N/A' } },
  'Fernmoor 2.02': { running: { formula: "VLOOKUP(B17,'Stand 2023'!A:B,2,0)" } },
  'Quill Lane 16': { label: date('2026-02-04', style.dayAndMonth) },
  'Tallow House 6': { serial: number('12004511778820017') },
};

function cellOf(field, panel) {
  const text = panel[field];
  const [, tag] = /^QSA-(\d{5})$/.exec(text) ?? [];
  const other = changed[panel.room]?.[field];
  if (other !== undefined) return other;
  if (text === '') return undefined;
  if (field === 'asset' && tag !== undefined) return number(Number(tag), style.asset);
  if (field === 'running' && /^\d+$/.test(text)) return number(text);
  return field === 'notes' ? { type: 'inlineStr', text } : shared(text);
}

const letters = 'ABCDEFGH';
function cellXml(cell, column, row) {
  if (cell === undefined) return '';
  const { type, value, text, formula, format = style.plain } = cell;
  const inside = [
    formula === undefined ? '' : `<f>${toXml(formula)}</f>`,
    text === undefined ? '' : `<is><t xml:space="preserve">${toXml(text)}</t></is>`,
    value === undefined ? '' : `<v>${value}</v>`,
  ].join('');
  return `<c r="${letters[column]}${row}"${format === 0 ? '' : ` s="${format}"`}${type === undefined ? '' : ` t="${type}"`}>${inside}</c>`;
}
const rowXml = (cells, row, more = '') =>
  `<row r="${row}"${more}>${cells.map((cell, column) => cellXml(cell, column, row)).join('')}</row>`;

const declaration = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n';
const main = 'http://schemas.openxmlformats.org/spreadsheetml/2006/main';
const relations = 'http://schemas.openxmlformats.org/officeDocument/2006/relationships';
const sheetXml = (rows, more = '') =>
  `${declaration}<worksheet xmlns="${main}"><sheetData>${rows.join('')}</sheetData>${more}</worksheet>`;

function listSheet() {
  const panels = readPanels();
  const first = 5;
  const rows = [
    rowXml([shared('Quillhaven Schools Authority: Wandtafeln')], 1),
    rowXml([shared('Stand der Herbstzählung')], 2),
    rowXml(headings.map(shared), 4),
  ];
  const merged = ['A1:H1'];
  for (const [index, panel] of panels.entries()) {
    const row = first + index;
    const again = panel.room !== '' && panels[index - 1]?.room === panel.room && panel.room.endsWith('Hall');
    if (again) merged.push(`A${row - 1}:A${row}`);
    const cells = columns.map((field) => (again && field === 'room' ? undefined : cellOf(field, panel)));
    if (cells.some((cell) => cell !== undefined)) {
      rows.push(rowXml(cells, row, panel.room === 'Fernmoor 1.10' ? ' hidden="1"' : ''));
    }
  }
  const last = first + panels.length;
  rows.push(rowXml([shared('Summe'), { formula: `COUNTA(B${first}:B${last - 1})`, value: panels.length }], last));
  const merges = merged.map((ref) => `<mergeCell ref="${ref}"/>`).join('');
  return sheetXml(rows, `<mergeCells count="${merged.length}">${merges}</mergeCells>`);
}

const sheets = [
  { name: 'Räume', xml: listSheet() },
  {
    name: 'Legende',
    xml: sheetXml([rowXml([shared('Modus'), shared('leer: wie die Runde; recovery: löscht alles')], 1)]),
  },
  { name: 'Stand 2023', state: 'hidden', xml: sheetXml([rowXml([shared('Fernmoor 1.01'), shared('reed.365')], 1)]) },
];

const types = 'application/vnd.openxmlformats-officedocument.spreadsheetml';
const override = (part, type) => `<Override PartName="/${part}" ContentType="${types}.${type}+xml"/>`;
const relation = (id, type, target) => `<Relationship Id="rId${id}" Type="${relations}/${type}" Target="${target}"/>`;
const relationsXml = (all) =>
  `${declaration}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">${all.join('')}</Relationships>`;
const xf = (format) =>
  `<xf numFmtId="${format}" fontId="0" fillId="0" borderId="0" xfId="0"${format === 0 ? '' : ' applyNumberFormat="1"'}/>`;

const parts = {
  '[Content_Types].xml': `${declaration}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/>${override('xl/workbook.xml', 'sheet.main')}${sheets.map((_, index) => override(`xl/worksheets/sheet${index + 1}.xml`, 'worksheet')).join('')}${override('xl/styles.xml', 'styles')}${override('xl/sharedStrings.xml', 'sharedStrings')}</Types>`,
  '_rels/.rels': relationsXml([relation(1, 'officeDocument', 'xl/workbook.xml')]),
  'xl/workbook.xml': `${declaration}<workbook xmlns="${main}" xmlns:r="${relations}"><sheets>${sheets.map(({ name, state }, index) => `<sheet name="${name}" sheetId="${index + 1}"${state === undefined ? '' : ` state="${state}"`} r:id="rId${index + 1}"/>`).join('')}</sheets></workbook>`,
  'xl/_rels/workbook.xml.rels': relationsXml([
    ...sheets.map((_, index) => relation(index + 1, 'worksheet', `worksheets/sheet${index + 1}.xml`)),
    relation(sheets.length + 1, 'styles', 'styles.xml'),
    relation(sheets.length + 2, 'sharedStrings', 'sharedStrings.xml'),
  ]),
  'xl/styles.xml': `${declaration}<styleSheet xmlns="${main}"><numFmts count="2"><numFmt numFmtId="164" formatCode="dd\\.mmm"/><numFmt numFmtId="165" formatCode="&quot;QSA-&quot;00000"/></numFmts><fonts count="1"><font><sz val="11"/><name val="Sans"/></font></fonts><fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills><borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders><cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="4">${[0, 14, 164, 165].map(xf).join('')}</cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`,
  ...Object.fromEntries(sheets.map(({ xml }, index) => [`xl/worksheets/sheet${index + 1}.xml`, xml])),
  'xl/sharedStrings.xml': `${declaration}<sst xmlns="${main}" uniqueCount="${strings.size}">${[...strings.keys()].map((text) => `<si><t xml:space="preserve">${toXml(text)}</t></si>`).join('')}</sst>`,
};

const zip = new ZipFile();
// Local time, as ZIP keeps it: the same bytes in every time zone.
const mtime = new Date(2026, 8, 14, 6);
for (const [name, xml] of Object.entries(parts))
  zip.addBuffer(Buffer.from(xml), name, { mtime, forceDosTimestamp: true, mode: 0o100644 });
zip.end();
await pipeline(zip.outputStream, createWriteStream(out));
