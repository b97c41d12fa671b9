import { define, type NoFacts } from '../define.ts';
import { countInWords, listInWords } from '../words.ts';

interface Paths {
  readonly paths: readonly string[];
}

/** Findings of the area `verify/` about what a manifest does not name, and how what it names was read. */
export const verifyContentsFindings = {
  'verify/unexpected': define<Paths>({
    severity: 'stop',
    title: 'Something is on the stick that was not there',
    seen: ({ paths }) => `New since the stick was prepared, or no longer as it was then: ${listInWords(paths)}.`,
    why: 'The panel may take it for firmware.',
    todo: 'Find out who put it there; move it away, or prepare the stick again: what may stay is then recorded.',
    source: 'RFC 8493 section 3: completeness',
  }),
  'verify/firmware-inside': define<{ found: readonly { path: string; sign: string }[] }>({
    severity: 'stop',
    title: 'Other firmware is on the stick',
    seen: ({ found }) => `Not in the manifest: ${listInWords(found.map(({ path, sign }) => `${path} (${sign})`))}.`,
    why: 'A panel that looks into folders, or at the content of files, may take it instead.',
    todo: 'Find out who put it there; move it away, or prepare the stick again with --leftovers.',
    source:
      'AOSP OTA tools and recovery (what a package holds); that panels look into folders: common practice, no source',
  }),
  'verify/firmware-set-aside': define<Paths>({
    severity: 'caution',
    title: 'Firmware that was set aside is still on the stick',
    seen: ({ paths }) => `Under names that no updater lists: ${listInWords(paths)}.`,
    why: 'A panel that looks into every file could still find it.',
    todo: 'Move it to the desk when it is convenient, and prepare the stick again.',
    source: 'common practice, no source',
  }),
  'verify/firmware-aside-by-name': define<{ found: readonly { path: string; sign: string }[] }>({
    severity: 'unproven',
    title: 'Firmware was set aside under its own name',
    seen: ({ found }) =>
      `Set aside on the stick by an earlier version: ${listInWords(found.map(({ path, sign }) => `${path} (${sign})`))}.`,
    why: 'A panel that looks into folders may list it beside the right one.',
    todo: 'Move it to the desk, or prepare the stick again with --leftovers set-aside: it gets a name that no updater lists.',
    source: 'common practice, no source',
  }),
  'verify/not-looked-into': define<Paths>({
    severity: 'unproven',
    title: 'Not everything on the stick could be looked into',
    seen: ({ paths }) =>
      `${countInWords(paths.length, 'file')}: ${listInWords(paths)}. Archives are followed three deep, and 10,000 files or 256 MiB on one stick.`,
    why: 'Other firmware in it would not have been seen.',
    todo: 'Move these to the desk, or use a stick with nothing else on it.',
    source: 'README, "Limits"',
  }),
  'verify/visited-a-panel': define<Paths>({
    severity: 'caution',
    title: 'The stick has been in a panel since',
    seen: ({ paths }) => `A panel left: ${listInWords(paths)}. The firmware itself is judged by its own findings.`,
    why: 'An update may have been tried already: ask before you do it twice.',
    todo: 'Find out from the record or a colleague which panel it was.',
    source: 'AOSP vold, Vfat.cpp (LOST.DIR)',
  }),
  'verify/system-junk': define<Paths>({
    severity: 'note',
    title: 'A desktop system left its files',
    seen: ({ paths }) => `A desktop system left ${listInWords(paths)}.`,
    why: 'Most panels do not mind them.',
    todo: 'Nothing.',
    source: 'common practice, no source',
  }),
  'verify/root-not-empty': define<Paths>({
    severity: 'stop',
    title: 'This panel wants nothing else at the root',
    seen: ({ paths }) => `Also at the root: ${listInWords(paths)}.`,
    why: 'The panel refuses the stick.',
    todo: 'Delete these and verify again.',
    source: 'The family file, as the manifest keeps it',
  }),
  'verify/content-not-read': define<NoFacts>({
    severity: 'unproven',
    title: 'The content was not read',
    seen: () => 'A quick check compares names and sizes only.',
    why: 'A changed byte or a worn stick is not seen that way.',
    todo: 'Run it without --quick before the walk.',
    source: 'RFC 8493 section 3: completeness is not validity',
  }),
  'verify/read-from-cache': define<NoFacts>({
    severity: 'unproven',
    title: 'Read through the cache, not from the stick',
    seen: () => 'All content is right, but the operating system may have answered from its memory.',
    why: 'What is on the stick itself is not proven.',
    todo: 'If the stick was not pulled since it was written: eject it, pull it, plug it in, verify again with --replugged.',
    source: 'common practice, no source',
  }),
  'verify/replugged': define<NoFacts>({
    severity: 'note',
    title: 'Pulled and plugged in again, as you say',
    seen: () => 'The content was read through the cache; you say that the stick was out since it was written.',
    why: 'Pulling the stick empties what the operating system remembers of it.',
    todo: 'Nothing.',
    source: 'common practice, no source',
  }),
};
