import { type CentralRecord, type EntryName, nameBytesOf } from '../../archive-format/read-central-directory.ts';
import { type ArchiveShape, startOf } from '../../archive-format/read-end-records.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { nameBeforeCopy } from '../../label/name-before-copy.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import { findInvisible, invisibleInWords } from '../../text/visible.ts';

/** Not allowed in a name on FAT, beside `/` and `\` (Microsoft, Naming Files, Paths, and Namespaces). */
const forbidden = /[<>:"|?*]/;
const isControl = (code: number): boolean => code < 0x20 || code === 0x7f;
/** Reserved with any extension (the same source); the superscript digits count as digits there. */
const device = /^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])( *\.| *$)/i;
/** A long name takes at most this many UTF-16 units (Microsoft FAT specification 1.03, long directory entries). */
const longestPart = 255;

/** A name must mean one file under the target folder, to every reader, and FAT must be able to hold it. */
export function checkName(record: CentralRecord, shape: ArchiveShape): readonly Finding[] {
  const name = record.name.shown;
  const offset = startOf(shape, record);
  const nameBytes = nameBytesOf(shape, record); // CP437 shows control bytes as pictures, so the bytes count
  const found: Finding[] = [];
  if (name === '') found.push(finding('archive/name-empty', '', { offset }));
  if (/^[/\\]/.test(name)) found.push(finding('archive/name-absolute', name, { offset }));
  if (/^[a-z]:/i.test(name)) found.push(finding('archive/name-drive', name, { offset }));
  if (name.split(/[/\\]/).includes('..')) found.push(finding('archive/name-climbs', name, { offset }));
  if (name.includes('\\')) found.push(finding('archive/name-backslash', name, { offset }));
  if (nameBytes.some(isControl) || [...name].some((char) => isControl(char.codePointAt(0) ?? 0))) {
    found.push(finding('archive/name-control', name, { offset }));
  }
  const unseen = findInvisible(name).filter(({ code }) => !isControl(Number.parseInt(code.slice(2), 16)));
  if (unseen.length > 0)
    found.push(finding('archive/entry-invisible', name, { offset, places: invisibleInWords(unseen) }));
  found.push(...checkParts(name, offset));
  found.push(...checkNameReadings(nameBytes, record.name, name, offset));
  if (record.name.brokenUtf8) found.push(finding('archive/name-broken', name, { offset }));
  if (record.name.alphabetUnknown) found.push(finding('archive/name-alphabet', name, { offset }));
  return found;
}

function checkParts(name: string, offset: number): readonly Finding[] {
  const parts = name
    .replace(/^[a-z]:/i, '')
    .replace(/^\//, '')
    .replace(/\/$/, '')
    .split('/');
  const found: Finding[] = [];
  const [worst] = parts.flatMap((part) => {
    const why = whyNotOnFat(part);
    return why === undefined ? [] : [{ part, why }];
  });
  if (worst !== undefined) found.push(finding('archive/name-not-for-fat', name, { offset, ...worst }));
  if (name !== '' && parts.some((part) => part === '' || part === '.')) {
    found.push(finding('archive/name-detour', name, { offset }));
  }
  return found;
}

function whyNotOnFat(part: string): string | undefined {
  if (part === '.' || part === '..') return undefined;
  const bad = forbidden.exec(part);
  if (bad !== null) return `the character ${bad[0]}`;
  if (/[. ]$/.test(part)) return 'a dot or space at the end, which is dropped without a word';
  if (device.test(part)) return 'a name that is reserved for a device';
  if (part.length > longestPart) return `${part.length} characters, more than ${longestPart}`;
  return undefined;
}

/**
 * The Unicode path extra (APPNOTE 4.6.9) gives a name again that the header could only write with the letters of a code
 * page. So only what lies beyond ASCII may differ; where the ASCII parts differ as well, readers that know the extra
 * and those that do not see two different trees.
 */
export function checkNameReadings(
  nameBytes: Uint8Array,
  name: EntryName,
  subject: string,
  offset: number,
): readonly Finding[] {
  if (name.shown === name.plain || isRendering(nameBytes, name.shown)) return [];
  return [finding('archive/two-names', subject, { offset, shown: name.shown, plain: name.plain })];
}

/**
 * Whether `bytes` can be `text` with each run of letters beyond ASCII put in other bytes, or in marks such as `_`, `?`.
 */
function isRendering(bytes: Uint8Array, text: string): boolean {
  const runs = text.split(/[^\x00-\x7f]+/);
  if (runs.length === 1) return false;
  const written = String.fromCharCode(...bytes);
  const first = runs[0] ?? '';
  const last = runs.at(-1) ?? '';
  if (!written.startsWith(first) || !written.endsWith(last)) return false;
  let at = first.length;
  for (const run of runs.slice(1, -1)) {
    const found = written.indexOf(run, at);
    if (found === -1) return false;
    at = found + run.length;
  }
  const slashes = (name: string): number => name.split('/').length;
  return at <= written.length - last.length && slashes(written) === slashes(text);
}

const partDownload = /\.(part|partial|crdownload|opdownload|download|filepart|!ut|aria2|tmp)$/i;
const setPart = /\.(?:z(\d{2,})|zip\.(\d{3,})|part(\d+)\.(?:zip|rar|exe)|(\d{3}))$/i;

/** The shapes that downloads, browsers and split archives give to names, and what in the name cannot be seen. */
export const checkFileName = (facts: ArchiveFacts): readonly Finding[] => [
  ...checkInvisibleName(facts.fileName),
  ...checkShape(facts),
];

function checkInvisibleName(fileName: string): readonly Finding[] {
  const found = findInvisible(fileName);
  if (found.length === 0) return [];
  return [finding('archive/name-invisible', fileName, { places: invisibleInWords(found) })];
}

function checkShape({ fileName, entries }: ArchiveFacts): readonly Finding[] {
  const ending = partDownload.exec(fileName)?.[0];
  if (ending !== undefined) return [finding('archive/name-of-part-download', fileName, { ending })];
  const part = setPart
    .exec(fileName)
    ?.slice(1)
    .find((digits) => digits !== undefined);
  if (part !== undefined) return [finding('archive/name-of-set-part', fileName, { part })];
  const copy = nameBeforeCopy(fileName);
  if (copy !== undefined) return [finding('archive/name-of-copy', fileName, { ...copy })];
  return entries.length > 0 && !/\.zip$/i.test(fileName) ? [finding('archive/name-not-zip', fileName)] : [];
}
