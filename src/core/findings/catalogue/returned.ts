import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import { countInWords, listInWords, sizeInWords } from '../../text/words.ts';
import { mendFirst } from './verify.ts';

interface Paths {
  readonly paths: readonly string[];
}
interface Left extends Paths {
  readonly bytes: number;
}

const left = ({ paths, bytes }: Left): string =>
  `${countInWords(paths.length, 'file')} with ${sizeInWords(bytes)}: ${listInWords(paths)}.`;

const keepThem = (subject: string): string =>
  `Keep a copy at the desk, then they can go: \`stickwright verify ${quoted(subject)} --returned --clear --keep-left DIR\`.`;

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

/** Findings of the area `returned/`: what a stick brings back from its panels, and whether it can be cleared. */
export const returnedFindings = {
  'returned/unchanged': define<{ files: string }>({
    severity: 'note',
    title: 'The firmware is still the same, byte for byte',
    seen: ({ files }) => `${files} read and compared: the same, byte for byte, as on the day it was prepared.`,
    why: 'A panel that failed did not fail because of these files.',
    todo: 'Nothing.',
    source: 'RFC 8493 section 3: validity; FIPS 180-4',
  }),
  'returned/visited': define<Paths>({
    severity: 'note',
    title: 'It has been in a panel',
    seen: ({ paths }) => `It has been in a panel, which left ${listInWords(paths)}.`,
    why: 'A stick that comes back usually has; one without such marks was perhaps only in a service menu, or nowhere.',
    todo: 'Compare with the record of the round.',
    source: 'AOSP vold, fs/Vfat.cpp (LOST.DIR), VolumeManager.cpp (Android/); MediaProvider.java (media folders)',
  }),
  'returned/logs-left': define<Left>({
    severity: 'caution',
    title: 'A panel left logs',
    seen: (facts) => `Logs, dumps or status files, by their names: ${left(facts)}`,
    why: 'When an update has failed, the maker asks for these, and the panel may not have them any more.',
    todo: (_facts, subject) => keepThem(subject),
    source: 'AOSP recovery, dumpstate, tombstoned; common practice, no source',
  }),
  'returned/files-of-a-panel': define<Left>({
    severity: 'caution',
    title: "Files of a panel's apps, or recovered by its repair",
    seen: left,
    why: "They may be somebody's: a whiteboard that was saved to the stick, a piece of a file that was lost.",
    todo: (_facts, subject) => `Ask in the room. ${keepThem(subject)}`,
    source: 'AOSP vold, VolumeManager.cpp (Android/); fsck_msdos, dir.c (LOST.DIR)',
  }),
  'returned/was-at-a-desk': define<Paths>({
    severity: 'note',
    title: 'It has been in a computer',
    seen: ({ paths }) => `It has been in a computer, which left ${listInWords(paths)}.`,
    why: 'Desktop systems make these for themselves on every stick; most panels do not mind them.',
    todo: 'Nothing.',
    source: 'common practice, no source',
  }),
  'returned/thrown-away': define<Left>({
    severity: 'caution',
    title: 'Something was thrown away or repaired at a desk',
    seen: left,
    why: 'It lies in a waste bin, or is a piece that a repair found: somebody may still want it.',
    todo: 'Ask who had the stick. The tool does not delete these: empty the bin, or move them away, yourself.',
    source: 'common practice, no source',
  }),
  'returned/unexplained': define<Paths>({
    severity: 'stop',
    title: 'Something is on it that nobody can explain',
    seen: ({ paths }) => `Since it was prepared, and of no kind that panels or computers leave: ${listInWords(paths)}.`,
    why: 'A panel may take it for firmware; and it is likely to be somebody’s.',
    todo: 'Find out whose it is and move it away. The tool does not delete it.',
    source: 'RFC 8493 section 3: completeness',
  }),
  'returned/twins': define<Paths>({
    severity: 'stop',
    title: 'Twins of firmware files',
    seen: ({ paths }) => `A computer put a file that begins with ._ beside a firmware file: ${listInWords(paths)}.`,
    why: 'It sorts before the real file, and the update aborts.',
    todo: 'Clear the stick and prepare it again.',
    source: 'common practice, no source',
  }),
  'returned/others-gone': define<Paths>({
    severity: 'caution',
    title: "Somebody's files are gone",
    seen: ({ paths }) => `There when the stick was prepared, and gone: ${listInWords(paths)}.`,
    why: 'A panel or a person removed them; the tool did not.',
    todo: 'Tell whoever they belong to. A repair program may find them if nothing is written to the stick.',
    source: 'The manifest, which names what stayed',
  }),
  'returned/others-changed': define<Paths>({
    severity: 'stop',
    title: "Somebody's files have another size",
    seen: ({ paths }) => `Of another size than when the stick was prepared: ${listInWords(paths)}.`,
    why: 'What came to them is not known; a panel may take it for firmware.',
    todo: 'Ask who worked with them. Before it goes again, prepare it anew: what may stay is then recorded.',
    source: 'The manifest, which names what stayed',
  }),
  'returned/not-ejected': define<NoFacts>({
    severity: 'stop',
    title: 'It was pulled out of the panel without being ejected',
    seen: () => 'The volume carries the mark of an unfinished write.',
    why: 'The next panel may mount it read-only, ask to repair it, or offer to format it.',
    todo: 'Clear it here: where its tables and folders are sound, clearing takes the mark away. To let it go again as it is, repair it first (fsck, chkdsk, First Aid) and verify it again.',
    source: 'Microsoft FAT specification 1.03: FAT[1] high bits; exFAT specification 3.1.13',
  }),
  'returned/damaged': define<{ codes: readonly string[] }>({
    severity: 'stop',
    title: 'The volume came back damaged',
    seen: ({ codes }) => `Its tables or folders are damaged: ${listInWords(codes)}.`,
    why: 'What was pulled in the middle of a write leaves this; the next panel may refuse the stick or offer to format it.',
    todo: 'Save what you need from it. Repair it (fsck, chkdsk, First Aid) and verify it again, or format it.',
    source: 'Microsoft FAT specification 1.03; each code says its own',
  }),
  'returned/not-readable': define<{ problem: string }>({
    severity: 'stop',
    title: 'The stick cannot be read to its end',
    seen: ({ problem }) => `${problem}.`,
    why: 'What a desk cannot read a panel cannot read either.',
    todo: 'Try another port without a hub. If it happens again, save what you need, and retire the stick.',
    source: 'common practice, no source',
  }),
  'returned/clearing-unfinished': define<{ files: number }>({
    severity: 'stop',
    title: 'It is being cleared, or prepared, and that was not finished',
    seen: ({ files }) =>
      `Its manifest is withdrawn; ${files === 0 ? 'no firmware file is' : countInWords(files, 'firmware file is', 'firmware files are')} left on it.`,
    why: 'The firmware is not complete; a panel could be harmed by half an update.',
    todo: (_facts, subject) =>
      `Finish it: stickwright verify ${quoted(subject)} --returned --clear; or prepare the stick for its next job.`,
    source: 'README, "What lies on a stick"',
  }),
  'returned/preparation-unfinished': define<{ isStopped: boolean }>({
    severity: 'stop',
    title: 'A preparation was begun on it and not finished',
    seen: () => 'Files wait on it to be moved into their places.',
    why: 'That is no visit to a panel: the stick was pulled at a desk.',
    todo: ({ isStopped }) => `${isStopped ? mendFirst : ''}Run the prepare command again: it does the rest.`,
    source: 'README, "What lies on a stick"',
  }),
  'returned/nothing-to-clear': define<NoFacts>({
    severity: 'stop',
    title: 'There is nothing on it that the tool may clear',
    seen: () => 'Without a manifest nobody can say what on it is firmware and what is somebody’s. Nothing was cleared.',
    why: 'Only what the manifest names is taken away.',
    todo: 'Save what you need from it, and format it: stickwright format.',
    source: 'README, "What lies on a stick"',
  }),
  'returned/too-worn-to-clear': define<NoFacts>({
    severity: 'stop',
    title: 'It is not cleared: it has read errors',
    seen: () => 'Parts of it cannot be read, or were marked as bad.',
    why: 'A stick with read errors does not go to a panel again, and each write may cost what can still be read.',
    todo: 'Try another port without a hub. If it happens again, save what you need, and retire the stick.',
    source: 'common practice, no source',
  }),
  'returned/repair-first': define<{ what: readonly string[] }>({
    severity: 'stop',
    title: 'It is not cleared: files share their places',
    seen: ({ what }) => `Its tables or folders are damaged at: ${listInWords(what)}.`,
    why: "Taking a firmware file away could take somebody's file with it.",
    todo: 'Save what you need from it. Then repair it (fsck, chkdsk, First Aid) and run this again, or format it.',
    source: 'Microsoft FAT specification 1.03',
  }),
  'returned/repair-before-preparing': define<NoFacts>({
    severity: 'caution',
    title: 'Its mark of an unclean pull stays',
    seen: () => 'Its tables or folders are not sound, so the tool leaves the mark for a repair.',
    why: 'A stick with the mark is not prepared: a panel may mount it read-only or offer to format it.',
    todo: 'After clearing, repair it (fsck, chkdsk, First Aid) or format it, and then prepare it.',
    source: 'Microsoft FAT specification 1.03: FAT[1] high bits',
  }),
  'returned/not-removed': define<Paths>({
    severity: 'note',
    title: 'The computer holds on to its own files',
    seen: ({ paths }) => `This computer does not let go of its own ${listInWords(paths)}; it stays.`,
    why: 'Most panels do not mind it.',
    todo: 'Nothing.',
    source: 'common practice, no source',
  }),
};
