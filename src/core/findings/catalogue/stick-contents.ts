import type { Mode } from '../../model/mode.ts';
import { define } from '../define.ts';
import { countInWords, listInWords } from '../words.ts';

interface Paths {
  readonly paths: readonly string[];
}

const chooseLeftovers =
  'Look at the list. Run it again with --leftovers set-aside to move these into a dated folder on the stick, or with --leftovers remove to delete them.';

/** Findings of the area `stick/` about what lies on a stick already. */
export const stickContentsFindings = {
  'stick/other-firmware': define<Paths>({
    severity: 'stop',
    title: 'Other firmware is on the stick',
    seen: ({ paths }) => `At the root: ${listInWords(paths)}.`,
    why: 'The panel may take the wrong one, or none.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/firmware-inside': define<{ found: readonly { path: string; sign: string }[] }>({
    severity: 'stop',
    title: 'Firmware lies where nobody expects it',
    seen: ({ found }) =>
      `In folders of other things: ${listInWords(found.map(({ path, sign }) => `${path} (${sign})`))}.`,
    why: 'A panel that looks into folders may take it instead.',
    todo: chooseLeftovers,
    source:
      'AOSP OTA tools and recovery (what a package holds); that panels look into folders: common practice, no source',
  }),
  'stick/firmware-set-aside': define<Paths>({
    severity: 'caution',
    title: 'Firmware that was set aside stays on the stick',
    seen: ({ paths }) => `Under names that no updater lists: ${listInWords(paths)}.`,
    why: 'A panel that looks into every file could still find it.',
    todo: 'Move it to the desk when it is convenient; its own name is the one without the ending .set-aside.',
    source: 'common practice, no source',
  }),
  'stick/not-looked-into': define<Paths>({
    severity: 'unproven',
    title: 'Not everything on the stick could be looked into',
    seen: ({ paths }) =>
      `${countInWords(paths.length, 'file')}: ${listInWords(paths)}. Archives are followed three deep, and 10,000 files or 256 MiB on one stick.`,
    why: 'Other firmware in it would not have been seen.',
    todo: 'Move these to the desk, or use an empty stick.',
    source: 'README, "Limits"',
  }),
  'stick/earlier-preparation': define<Paths & { label: string; archive: string; mode: Mode }>({
    severity: 'stop',
    title: 'The stick is prepared for something else',
    seen: ({ label, archive, mode, paths }) =>
      `It was prepared for "${label}" from ${archive}, mode ${mode}: ${listInWords(paths)}.`,
    why: 'Somebody may be about to walk with it; and two packages on one stick confuse the panel.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/other-label-before': define<{ label: string; stickCode: string }>({
    severity: 'caution',
    title: 'The stick is tagged for another panel',
    seen: ({ label, stickCode }) => `Stick ${stickCode} was prepared for "${label}".`,
    why: 'Somebody may be about to walk with it.',
    todo: 'Ask, and write a new tag.',
    source: 'common practice, no source',
  }),
  'stick/extra-in-firmware-folder': define<Paths>({
    severity: 'stop',
    noOverride: true,
    title: 'Files that are not part of this firmware lie in its folders',
    seen: ({ paths }) => `Not in the archive: ${listInWords(paths)}.`,
    why: 'The panel may take parts of another build together with this one.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/hidden-twins': define<Paths>({
    severity: 'stop',
    title: 'Hidden twins whose names begin with ._',
    seen: ({ paths }) => `Left by macOS: ${listInWords(paths)}.`,
    why: 'Such a twin sorts before the real file; a panel that opens it aborts the update.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/name-taken': define<Paths>({
    severity: 'stop',
    noOverride: true,
    title: 'Something else has a name that the firmware needs',
    seen: ({ paths }) => `Of other content: ${listInWords(paths)}.`,
    why: 'The panel would read that instead.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/root-not-empty': define<Paths>({
    severity: 'stop',
    title: 'This panel wants nothing else at the root',
    seen: ({ paths }) => `Also at the root: ${listInWords(paths)}.`,
    why: 'The panel refuses the stick.',
    todo: 'Keep what you need elsewhere, then run it again with --leftovers remove, or use an empty stick.',
    source: 'The family file',
  }),
  'stick/system-junk': define<Paths>({
    severity: 'note',
    title: 'Files that desktop systems leave',
    seen: ({ paths }) => `Desktop systems left ${listInWords(paths)}; they stay.`,
    why: 'Most panels do not mind them.',
    todo: 'Nothing. If the panel says that the stick must be empty, take a freshly formatted one.',
    source: 'common practice, no source',
  }),
  'stick/has-been-in-a-panel': define<Paths>({
    severity: 'note',
    title: 'The stick has been in a panel',
    seen: ({ paths }) => `A panel left: ${listInWords(paths)}; it stays.`,
    why: 'It may hold what a panel saved there.',
    todo: 'Ask whether anybody needs it; a fresh stick for each job is the better habit.',
    source: 'AOSP vold, Vfat.cpp (LOST.DIR)',
  }),
  'stick/unfinished': define<{ good: number; rest: number }>({
    severity: 'note',
    title: 'An unfinished preparation is on the stick',
    seen: ({ good, rest }) =>
      `An unfinished preparation: ${countInWords(good, 'file is', 'files are')} already right; ${countInWords(rest, 'file is', 'files are')} still to write.`,
    why: 'A stick in this state is not ready; this run finishes it.',
    todo: 'Nothing: go on.',
    source: 'common practice, no source',
  }),
  'stick/damaged-since': define<Paths>({
    severity: 'note',
    title: 'Files changed since this stick was prepared',
    seen: ({ paths }) => `No longer what was written: ${listInWords(paths)}; they are written anew.`,
    why: 'A stick that changes by itself may be worn out.',
    todo: 'If it happens again, retire the stick.',
    source: 'common practice, no source',
  }),
  'stick/manifest-broken': define<{ problem: string }>({
    severity: 'caution',
    title: 'The manifest of an earlier preparation cannot be read',
    seen: ({ problem }) => `${problem}.`,
    why: 'What was on this stick cannot be told from it.',
    todo: 'Nothing if you are preparing it anew: the manifest is replaced.',
    source: 'common practice, no source',
  }),
  'stick/links': define<Paths>({
    severity: 'unproven',
    title: 'Symbolic links on the stick',
    seen: ({ paths }) =>
      `They lead somewhere else and hold nothing themselves: ${listInWords(paths)}. None was followed.`,
    why: 'Another reader may follow them, to firmware under a second name or to nothing; FAT and exFAT, which panels take, have no links.',
    todo: 'Copy what is wanted to where the link is, or move the link away; then run the same command again.',
    source: 'POSIX.1-2017, symlink(); common practice, no source',
  }),
  'stick/special-files': define<Paths>({
    severity: 'unproven',
    title: 'Neither files nor folders on the stick',
    seen: ({ paths }) => `Pipes, sockets or devices by name: ${listInWords(paths)}. None was opened.`,
    why: 'No panel and no desk makes such things on a stick; what a panel does when it meets one, nobody can say.',
    todo: 'Move them away, or format the stick; then run the same command again.',
    source: 'common practice, no source',
  }),
  'stick/unreadable-names': define<Paths>({
    severity: 'unproven',
    title: 'Names that cannot be read',
    seen: ({ paths }) =>
      `Their bytes are no UTF-8 text, so nothing can be opened by them: ${listInWords(paths)}. What they hold was not looked at.`,
    why: 'The stick is mounted with another character set, or the names are damaged; a panel may find firmware there that nobody has checked.',
    todo: 'Mount the stick with UTF-8 names (on Linux: the option utf8 or iocharset=utf8), or unmount it and give the drive itself; then run the same command again.',
    source: 'RFC 3629; Linux: Documentation/filesystems/vfat.rst',
  }),
};
