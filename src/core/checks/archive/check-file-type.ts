import { type ArchiveShape, startOf } from '../../archive-format/archive-shape.ts';
import { type CentralRecord, extraFieldsOf } from '../../archive-format/read-central-directory.ts';
import { viewOf } from '../../archive-format/view-of.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/** Systems whose attributes carry a Unix mode in their upper half (APPNOTE 4.4.2.2: 3 UNIX, 19 OS X). */
const unixHosts = new Set([3, 19]);
/** The mode again, in Info-ZIP's ASi Unix extra: 4 bytes CRC, 2 bytes mode (APPNOTE 4.6.1, proginfo/extrafld.txt). */
const asiUnixExtra = 0x756e;

/** File types and bits of a Unix mode, octal as POSIX <sys/stat.h> has them by custom. */
const typeMask = 0o170000;
const types: ReadonlyMap<number, 'link' | 'device' | 'socket' | 'pipe' | 'folder'> = new Map([
  [0o120000, 'link'],
  [0o060000, 'device'],
  [0o020000, 'device'],
  [0o140000, 'socket'],
  [0o010000, 'pipe'],
  [0o040000, 'folder'],
]);
const setIdBits = 0o6000;

/** Systems whose attributes are those of MS-DOS (APPNOTE 4.4.2.2: 0 FAT, 10 NTFS, 14 VFAT). */
const dosHosts = new Set([0, 10, 14]);
const isDos = ({ versionMadeBy }: CentralRecord): boolean => dosHosts.has(versionMadeBy >>> 8);
/** Bit 4 of the lower byte (Microsoft FAT specification 1.03, ATTR_DIRECTORY). */
const isDosFolder = ({ externalAttributes }: CentralRecord): boolean => (externalAttributes & 0x10) !== 0;

/** Links and special files have no place on a FAT stick. A pipe is what archivers note for data that came through one. */
export function checkFileType(record: CentralRecord, shape: ArchiveShape): readonly Finding[] {
  const subject = record.name.shown;
  const offset = startOf(shape, record);
  const modes = [...unixModes(record, shape)];
  const kinds = new Set(modes.map((mode) => types.get(mode & typeMask)));
  const found: Finding[] = [];
  if (kinds.has('link')) found.push(finding('archive/link', subject, { offset }));
  if (kinds.has('device') || kinds.has('socket')) {
    found.push(finding('archive/special-file', subject, { offset, kind: kinds.has('device') ? 'device' : 'socket' }));
  }
  if (!subject.endsWith('/') && (kinds.has('folder') || (isDos(record) && isDosFolder(record)))) {
    found.push(finding('archive/folder-by-attribute', subject, { offset }));
  }
  if (modes.some((mode) => (mode & setIdBits) !== 0)) found.push(finding('archive/set-id', subject, { offset }));
  return found;
}

function* unixModes(record: CentralRecord, shape: ArchiveShape): Generator<number> {
  if (unixHosts.has(record.versionMadeBy >>> 8)) yield record.externalAttributes >>> 16;
  for (const { id, data } of extraFieldsOf(shape, record).fields) {
    if (id === asiUnixExtra && data.length >= 6) yield viewOf(data).getUint16(4, true);
  }
}
