import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import type { Mode } from '../../model/mode.ts';
import { lookAlikesInWords } from '../../text/label-text.ts';
import { countInWords, listInWords, sizeInWords } from '../../text/words.ts';

/**
 * Findings of the area `verify/` about the record itself: how old it is, whether it was edited, who sealed it, what it
 * repeats.
 */
const verifyRecordFindings = {
  'verify/older-manifest': define<{ schema: string; version: string }>({
    severity: 'unproven',
    title: 'Prepared by an earlier version, whose record proves less',
    seen: ({ schema, version }) =>
      `Version ${version} wrote the manifest, in the form ${schema}. It does not say whether the package was ever compared with what its maker published, nor what note must lie beside it.`,
    why: 'The firmware is checked all the same, but a doubt from the day of its preparation may be missing in it.',
    todo: 'Prepare it again with the same command: firmware that is right stays, only the record is written anew, and the code on the tag stays.',
    source: 'README, "The manifest"',
  }),
  'verify/record-changed': define<{ got: 'missing' | 'size' | 'content' }>({
    severity: 'stop',
    title: 'The record beside the manifest was changed',
    seen: ({ got }, subject) =>
      got === 'missing'
        ? `${subject} is not on the stick any more.`
        : `${subject} ${got === 'size' ? 'has another length than' : 'says something else than'} what was written there.`,
    why: 'Other machines check the stick by that list, and whoever finds it goes by that note. Somebody had this stick in hand and edited it.',
    todo: 'Do not walk with it. Ask who had it, then prepare it again with the same command: firmware that is right stays, the record is written anew.',
    source: 'RFC 8493 section 3: validity; README, "What lies on a stick"',
  }),
  'verify/sealed': define<{ name: string }>({
    severity: 'note',
    title: 'Sealed by the desk that you trust',
    seen: ({ name }) => `The manifest is signed with key ${name}.`,
    why: 'Nobody without that key can have changed what the stick should hold.',
    todo: 'Nothing.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/seal-not-asked': define<{ sealedBy: string | undefined }>({
    severity: 'note',
    title: 'Anyone could have written this manifest',
    seen: ({ sealedBy }) =>
      sealedBy === undefined
        ? 'Anyone could have written this manifest: it carries no seal.'
        : `Anyone could have written this manifest: its seal, of key ${sealedBy}, was not compared with a key that you trust.`,
    why: 'Content and manifest agree, but a stick that was left alone can be given new ones that agree too.',
    todo: ({ sealedBy }) =>
      sealedBy === undefined
        ? 'Where that matters, make a key at the desk (stickwright seal new) and prepare the stick again.'
        : "Where that matters, verify with the desk's public key (--seal-from FILE).",
    source: 'common practice, no source',
  }),
  'verify/seal-missing': define<{ wanted: string }>({
    severity: 'stop',
    title: 'No seal on this stick',
    seen: ({ wanted }) => `Asked for is key ${wanted}; the manifest is not sealed at all.`,
    why: 'Anybody can have prepared this stick, or changed it and its manifest together.',
    todo: 'Do not walk with it. Find out where it was prepared, and prepare it at the desk.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/sealed-by-another': define<{ wanted: string; got: string }>({
    severity: 'stop',
    title: 'Sealed by another desk',
    seen: ({ wanted, got }) => `Asked for is key ${wanted}; the seal is of key ${got}.`,
    why: 'The stick was prepared elsewhere, or changed and sealed anew by somebody else.',
    todo: 'Do not walk with it. Find out where it was prepared, and prepare it at the desk.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/seal-removed': define<{ name: string }>({
    severity: 'stop',
    title: 'The seal is gone',
    seen: ({ name }) => `The manifest says that key ${name} sealed it; no seal lies beside it.`,
    why: 'Somebody had this stick in hand. Without its seal nobody can tell whether more was changed.',
    todo: 'Do not walk with it. Ask who had the stick, and prepare it again.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/seal-broken': define<NoFacts>({
    severity: 'stop',
    title: 'The seal does not belong to this manifest',
    seen: () =>
      'The seal beside it is not the one that this manifest was given: of another key, or over something else.',
    why: 'The manifest or its seal was changed after the desk sealed it.',
    todo: 'Do not walk with it. Ask who had the stick, and prepare it again.',
    source: 'RFC 8032 (Ed25519)',
  }),
  'verify/override': define<{ code: string; because: string }>({
    severity: 'caution',
    title: 'A person overrode a stop when this was prepared',
    seen: ({ code, because }, subject) => `${code} (${subject}), because: ${because}`,
    why: 'What was found then is still true.',
    todo: 'Make sure that the person at the panel knows.',
    source: 'README, "Overrides"',
  }),
  'verify/was-unproven': define<{ code: string }>({
    severity: 'unproven',
    title: 'Something could not be checked when this was prepared',
    seen: ({ code }, subject) => `${code}${subject === '' ? '' : ` (${subject})`}.`,
    why: 'It is still not known, and nothing on the stick can settle it.',
    todo: ({ code }) =>
      `stickwright explain ${code} says what would settle it. Do that at the desk and prepare the stick again with the same command: firmware that is right stays.`,
    source: 'README, "Verdicts"',
  }),
};

/** Before "Run … again", where that would be stopped. */
export const mendFirst = 'First mend what else is said of it here; the command would stop at that. ';

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
  'verify/unfinished': define<{ folder: string; isStopped: boolean }>({
    severity: 'stop',
    title: 'The preparation was not finished',
    seen: ({ folder }) => `The folder ${folder} holds unfinished work; there is no manifest.`,
    why: 'The firmware is not complete; a panel could be harmed by half an update.',
    todo: ({ isStopped }) =>
      `${isStopped ? mendFirst : ''}Run the same command again, be it prepare or verify --returned --clear: it does the rest.`,
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
      `The labels differ${parts.length === 0 ? '' : ` in ${parts.join(', ')}`}.\n  stick  ${prepared}\n  panel  ${asked}`,
    why: 'The wrong variant leaves a panel without picture or touch, or dead.',
    todo: 'Take the stick made for this panel. Read the label on its back again.',
    source: 'common practice, no source',
  }),
  'verify/label-misread': define<{ prepared: string; asked: string; likes: readonly string[] }>({
    severity: 'stop',
    title: 'The label differs in characters that look alike',
    seen: ({ prepared, asked, likes }) =>
      likes.length === 0
        ? `Prepared for "${prepared}"; "${asked}" is the same only if characters that look alike are taken for one another.`
        : `Prepared for "${prepared}"; "${asked}" is no label of that family, but looks like ${likes.map((like) => `"${like}"`).join(' or ')}.`,
    why: `${lookAlikesInWords} are taken for one another on plates and in scans. Either may be right, and a wrong package can disable the panel.`,
    todo: 'Read the plate again at that character, and let a second person read it too. Then type it exactly as it stands there.',
    source: 'common practice, no source',
  }),
  'verify/label-written-otherwise': define<{ prepared: string; asked: string; exact: string }>({
    severity: 'stop',
    title: 'The label is written otherwise than on the plate',
    seen: ({ prepared, asked, exact }) =>
      `Prepared for "${prepared}"; "${asked}" reads as "${exact}", and nobody has confirmed that.`,
    why: 'A separator or a word more or less may be a part of another label.',
    todo: ({ exact }) => `Compare it with the plate. If it is right, type exactly this: "${exact}"`,
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
