import { type ArchiveShape, startOf } from '../../archive-format/archive-shape.ts';
import { type CentralRecord, nameBytesOf } from '../../archive-format/read-central-directory.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { findInvisible, invisibleInWords } from '../../label/invisible-characters.ts';
import { checkNameReadings } from './check-name-readings.ts';

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
  const worst = parts.find((part) => whyNotOnFat(part) !== undefined);
  const why = worst === undefined ? undefined : whyNotOnFat(worst);
  if (worst !== undefined && why !== undefined) {
    found.push(finding('archive/name-not-for-fat', name, { offset, part: worst, why }));
  }
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
