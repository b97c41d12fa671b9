import type { Mode } from '../../model/mode.ts';
import { define, type NoFacts } from '../define.ts';
import { sizeInWords } from '../words.ts';
import { verifyRecordFindings } from './verify-record.ts';

const prepareAgain = 'Do not walk with it. Prepare the stick again.';

/** Findings of the area `verify/`: whether a prepared stick is still what it was. */
export const verifyFindings = {
  ...verifyRecordFindings,
  'verify/not-prepared': define<NoFacts>({
    severity: 'stop',
    title: 'No manifest on this stick',
    seen: () =>
      'It was never prepared with this tool, its preparation was withdrawn, or it was formatted since: panels and computers offer to.',
    why: 'Nobody can say what is on it.',
    todo: prepareAgain,
    source: 'README, "What lies on a stick"',
  }),
  'verify/unfinished': define<{ folder: string }>({
    severity: 'stop',
    title: 'The preparation was not finished',
    seen: ({ folder }) => `The folder ${folder} holds unfinished work; there is no manifest.`,
    why: 'The firmware is not complete; a panel could be harmed by half an update.',
    todo: 'Run the same command again, be it prepare or verify --returned --clear: it does the rest.',
    source: 'README, "What lies on a stick"',
  }),
  'verify/manifest-broken': define<{ problem: string }>({
    severity: 'stop',
    title: 'The manifest is not whole',
    seen: ({ problem }) => `${problem}.`,
    why: 'What should be on the stick cannot be told.',
    todo: prepareAgain,
    source: 'RFC 8785; README, "The manifest"',
  }),
  'verify/manifest-newer': define<{ schema: string }>({
    severity: 'stop',
    title: 'The manifest was written by a newer version',
    seen: ({ schema }) => `It says ${schema}; this version reads stickwright/manifest/1 and 2.`,
    why: 'This version cannot check the stick.',
    todo: 'Update this tool, or verify the stick where it was prepared.',
    source: 'README, "The manifest"',
  }),
  'verify/missing': define<{ bytes: number }>({
    severity: 'stop',
    title: 'A firmware file is missing',
    seen: ({ bytes }, subject) => `${subject} (${sizeInWords(bytes)}) is not on the stick.`,
    why: 'Half a firmware: the update aborts, at worst in the middle.',
    todo: prepareAgain,
    source: 'RFC 8493 section 3: completeness',
  }),
  'verify/changed': define<{ what: 'size' | 'content'; expected: string; got: string }>({
    severity: 'stop',
    title: 'A firmware file has changed',
    seen: ({ what, expected, got }, subject) =>
      what === 'size'
        ? `${subject}: the manifest says ${expected} bytes, the stick has ${got}.`
        : `${subject}: SHA-256 in the manifest ${expected}, on the stick ${got}.`,
    why: 'The panel would get other bytes than the maker wrote.',
    todo: `${prepareAgain} If it happens twice, retire the stick.`,
    source: 'RFC 8493 section 3: validity; FIPS 180-4',
  }),
  'verify/unreadable': define<{ problem: string }>({
    severity: 'stop',
    title: 'A firmware file cannot be read',
    seen: ({ problem }, subject) => `${subject}: ${problem}`,
    why: 'The panel could not read it either.',
    todo: 'Try another port without a hub; then retire the stick.',
    source: 'common practice, no source',
  }),
  'verify/other-volume': define<{ expected: string; got: string }>({
    severity: 'caution',
    title: 'This is not the volume that was prepared',
    seen: ({ expected, got }) =>
      `Prepared on volume ${expected}, found on ${got}: somebody copied it, or formatted the stick in between.`,
    why: 'A copy can be right; its tag and its format may not be.',
    todo: 'Check that file system and tag are right, or prepare this stick itself.',
    source: 'common practice, no source',
  }),
  'verify/file-system-differs': define<{ expected: string; got: string }>({
    severity: 'stop',
    title: 'Another file system than the one prepared',
    seen: ({ expected, got }) => `Prepared as ${expected}, this is ${got}.`,
    why: 'The panel may not read it.',
    todo: prepareAgain,
    source: 'common practice, no source',
  }),
  'verify/same-label': define<{ text: string }>({
    severity: 'note',
    title: 'The label is the one the stick was prepared for',
    seen: ({ text }) => `The label "${text}" is the one the stick was prepared for.`,
    why: 'Compare it once more at the panel.',
    todo: 'Nothing.',
    source: 'common practice, no source',
  }),
  'verify/label-also-served': define<{ prepared: string; asked: string }>({
    severity: 'note',
    title: 'The package serves this label too',
    seen: ({ prepared, asked }) =>
      `Prepared for "${prepared}"; "${asked}" differs only in parts that do not count for this package.`,
    why: 'The same package is made for both.',
    todo: 'Nothing.',
    source: 'The family file, as the manifest keeps it',
  }),
  'verify/other-label': define<{ prepared: string; asked: string; parts: readonly string[] }>({
    severity: 'stop',
    title: 'Prepared for another panel',
    seen: ({ prepared, asked, parts }) =>
      `The stick is for\n  "${prepared}", asked is\n  "${asked}"${parts.length === 0 ? '' : `; differing: ${parts.join(', ')}`}.`,
    why: 'The wrong variant leaves a panel without picture or touch, or dead.',
    todo: 'Take the stick made for this panel. Read the label on its back again.',
    source: 'common practice, no source',
  }),
  'verify/label-not-comparable': define<{ prepared: string; asked: string }>({
    severity: 'stop',
    title: 'The label cannot be compared',
    seen: ({ prepared, asked }) => `Prepared for "${prepared}"; "${asked}" does not read as a label of that family.`,
    why: 'Only a label that is read whole can be trusted.',
    todo: 'Type the label again exactly as it is on the plate.',
    source: 'common practice, no source',
  }),
  'verify/not-ejected': define<Record<string, never>>({
    severity: 'caution',
    title: 'The stick was pulled without being ejected',
    seen: () => 'Its volume still carries the mark of one that is in use.',
    why: 'A panel may mount it read-only, ask to repair it, or offer to format it.',
    todo: 'Plug it into a computer, let that check the volume, eject it, and verify again. At the panel never tap “Format”.',
    source: 'Microsoft FAT specification 1.03, "FAT Data Structure" (ClnShutBitMask); exFAT specification 3.1.13.2',
  }),
  'verify/same-mode': define<{ mode: Mode }>({
    severity: 'note',
    title: 'The mode is the one the stick was prepared for',
    seen: ({ mode }) => `It was prepared for ${mode} mode, as you are about to use it.`,
    why: 'The one mode keeps the data of the panel, the other wipes it.',
    todo: 'Nothing.',
    source: 'common practice, no source',
  }),
  'verify/other-mode': define<{ prepared: Mode; asked: Mode; wipes: boolean }>({
    severity: 'stop',
    title: 'Prepared for the other mode',
    seen: ({ prepared, asked, wipes }) =>
      `The stick was prepared for ${prepared} mode${wipes ? ', which WIPES the panel' : ''}; you are about to use it in ${asked} mode.`,
    why: 'A stick for recovery WIPES the panel that starts with it, and its in-OS updater finds no archive there. On a stick for in-OS the archive lies whole: a recovery finds nothing to install.',
    todo: 'Take the stick whose tag says the mode of this job, or prepare this one again. If the job itself is in doubt, ask before anything is plugged in.',
    source: 'common practice, no source',
  }),
  'verify/wipes-the-panel': define<{ mode: Mode }>({
    severity: 'caution',
    title: 'EVERYTHING ON THE PANEL IS WIPED by this stick',
    seen: ({ mode }) => `It was prepared for ${mode} mode.`,
    why: 'A wipe is final, also on the wrong panel.',
    todo: 'Compare the label on the panel with the tag before it is plugged in; remove it afterwards.',
    source: 'The manifest; common practice, no source',
  }),
};
