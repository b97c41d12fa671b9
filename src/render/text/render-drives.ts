import type { DriveEvent } from '../../core/checks/stick/compare-drives.ts';
import type { JudgedDrive, ModeAnswer } from '../../core/checks/stick/judge-drive.ts';
import { fileSystemInWords, tableInWords } from '../../core/findings/catalogue/stick.ts';
import { severityOf, textsOf } from '../../core/findings/finding.ts';
import type { Drive, MountedVolume } from '../../core/model/drive.ts';
import { type Mode, modes } from '../../core/model/mode.ts';
import { exactSize, roundedSize } from '../../core/text/words.ts';
import { inMargin, type Look, padded, painter, tame } from './page.ts';

const margin = 4;
const modeMargin = 14;

/** Each drive with what the operating system tells of it; what it does not tell is said to be unknown. */
export function renderDrives(drives: readonly JudgedDrive[], look: Look): string {
  if (drives.length === 0) {
    return 'No removable USB drive is plugged in. (stickwright drives --all lists the others.)\n';
  }
  const answers = drives.flatMap((drive) => (drive.refusedBecause === undefined ? drive.modes : []));
  const isCustomary = answers.some(({ family }) => family === undefined);
  const note =
    'Judged by what panels usually take; --family FILE judges by the rules of a family. The maker has the last word.';
  const foot = isCustomary ? [`${inMargin('', note, 0, look)}\n`] : [];
  return [...drives.map((drive) => renderDrive(drive, look)), ...foot].join('\n');
}

function renderDrive(drive: JudgedDrive, look: Look): string {
  const line = (text: string): string => inMargin('', oneLine(text), margin, look);
  const size = drive.bytes === undefined ? 'size unknown' : exactSize(drive.bytes);
  const facts = [size, `serial ${drive.serial || 'unknown'}`, `port ${drive.port ?? 'unknown'}`];
  const lines = [
    painter(look)('bold', oneLine(`${drive.device}  ${nameInWords(drive)}`)),
    line([...facts, tableInWords(drive.partitionTable), writableInWords(drive.readOnly)].join('; ')),
    ...(drive.volumes.length === 0 ? [line('no volume was seen on it')] : []),
    ...drive.volumes.map((volume) => line(describeVolume(volume))),
    ...(drive.refusedBecause === undefined
      ? renderModes(drive, look)
      : [line(`never written: ${drive.refusedBecause}`)]),
  ];
  return `${lines.join('\n')}\n`;
}

const renderModes = (drive: JudgedDrive, look: Look): readonly string[] =>
  modes.flatMap((mode) => {
    const answers = modeInWords(drive, mode);
    return answers.map((text, index) => inMargin(index === 0 ? `  ${mode}` : '', oneLine(text), modeMargin, look));
  });

/** A label must not pass for a line of this table. */
const oneLine = (text: string): string => tame(text).replaceAll('\n', ' ');

/** Maker and model; what is not told of them is said. */
export function nameInWords({ maker, model }: Drive): string {
  if (maker) return model ? `${maker} ${model}` : `${maker} (model unknown)`;
  return model ? `${model} (maker unknown)` : 'maker and model unknown';
}

const writableInWords = (readOnly: boolean | undefined): string =>
  readOnly === undefined
    ? 'read-only or not: unknown'
    : readOnly
      ? 'READ-ONLY: move its lock switch'
      : 'can be written';

const labelInWords = (label: string | undefined): string => (label ? `"${label}"` : 'no label known');

const placeInWords = (mountPoints: readonly string[]): string =>
  mountPoints.length === 0 ? 'not mounted' : `at ${mountPoints.join(', ')}`;

const clusterInWords = (clusterBytes: number | undefined): string =>
  clusterBytes === undefined ? 'cluster size unknown' : `clusters of ${clusterBytes.toLocaleString('en-US')} bytes`;

function describeVolume(volume: MountedVolume): string {
  const { fileSystem, freeBytes, readOnly } = volume;
  const facts = [
    fileSystem === 'unknown' ? 'file system unknown' : fileSystemInWords(fileSystem),
    labelInWords(volume.label),
    volume.bytes === undefined ? 'size unknown' : roundedSize(volume.bytes),
    clusterInWords(volume.clusterBytes),
    freeBytes === undefined ? 'free space unknown' : `${roundedSize(freeBytes)} free`,
    ...(readOnly === false ? [] : [readOnly ? 'read-only' : 'read-only or not: unknown']),
  ];
  return `${volume.device}: ${facts.join(', ')}; ${placeInWords(volume.mountPoints)}`;
}

/**
 * One line, never wrapped: a terminal wraps it by itself, and a log keeps it whole. TIME is what the clock on the wall
 * shows.
 */
export function renderDriveEvent(event: DriveEvent, time: string, look: Look): string {
  const paint = painter(look);
  const parts = [...(event.of === 'drive' ? aboutDrive(event) : aboutVolume(event)), ...newAnswers(event)];
  const text = `${event.device}  ${parts.join('; ')}`;
  return `${tame(time)}  ${paint('bold', padded(tame(event.kind), 9))}${oneLine(text)}\n`;
}

function aboutDrive({ kind, before, after, changed }: DriveEvent): readonly string[] {
  if (kind === 'changed') return changed.map((member) => difference(member, before, after));
  const drive = after ?? before;
  if (drive === undefined) return [];
  const size = drive.bytes === undefined ? 'size unknown' : roundedSize(drive.bytes);
  if (kind === 'went') return [`${nameInWords(drive)}, ${size}`];
  return [`${nameInWords(drive)}, ${size}, serial ${drive.serial || 'unknown'}`, ...drive.volumes.map(volumeInShort)];
}

export const volumeInShort = (volume: MountedVolume): string =>
  `${volume.device} ${labelInWords(volume.label)} ${fileSystemInWords(volume.fileSystem)} ${placeInWords(volume.mountPoints)}`;

function aboutVolume({ kind, device, before, after, changed }: DriveEvent): readonly string[] {
  const find = (drive: JudgedDrive | undefined) => drive?.volumes.find((volume) => volume.device === device);
  const [was, is] = [find(before), find(after)];
  if (kind === 'changed') return changed.map((member) => difference(member, was, is));
  const volume = is ?? was;
  return volume === undefined ? [] : [volumeInShort(volume).slice(device.length + 1)];
}

/** `not mounted, was at /media/u/PANELS`. */
const difference = (member: string, before: object | undefined, after: object | undefined): string =>
  `${inWords(member, after)}, was ${inWords(member, before)}`;

function inWords(member: string, of: object | undefined): string {
  const { bytes, ...facts }: Partial<JudgedDrive & MountedVolume> = of ?? {};
  switch (member) {
    case 'bytes':
      return bytes === undefined ? 'size unknown' : roundedSize(bytes);
    case 'fileSystem':
      return `file system ${fileSystemInWords(facts.fileSystem ?? 'unknown')}`;
    case 'label':
      return labelInWords(facts.label);
    case 'clusterBytes':
      return clusterInWords(facts.clusterBytes);
    case 'mountPoints':
      return placeInWords(facts.mountPoints ?? []);
    case 'readOnly':
      return writableInWords(facts.readOnly);
    case 'partitionTable':
      return tableInWords(facts.partitionTable ?? 'unknown');
    case 'refusedBecause':
      return facts.refusedBecause === undefined ? 'may be written' : `never written: ${facts.refusedBecause}`;
    case 'maker':
    case 'model':
    case 'serial':
      return `${member} ${facts[member] || 'unknown'}`;
    case 'port':
      return `port ${facts.port ?? 'unknown'}`;
    case 'usb':
      return `on USB: ${told(facts.usb)}`;
    default:
      return `removable: ${told(facts.removable)}`;
  }
}

const told = (flag: boolean | undefined): string => (flag === undefined ? 'unknown' : flag ? 'yes' : 'no');

/** What a drive would do for, where it came or where that is another answer than before. */
function newAnswers({ before, after }: DriveEvent): readonly string[] {
  if (after === undefined) return [];
  if (after.refusedBecause !== undefined) {
    return before === undefined ? [`never written: ${after.refusedBecause}`] : [];
  }
  return modes.flatMap((mode) => {
    const now = modeInWords(after, mode).join(', ');
    const isOld = before !== undefined && now === modeInWords(before, mode).join(', ');
    return isOld ? [] : [`${mode} ${now}`];
  });
}

/** Whether a drive would do for MODE, and the one reason; families that say the same stand together. */
export function modeInWords({ modes, volumes }: JudgedDrive, mode: Mode): readonly string[] {
  const answers = modes.filter((one) => one.mode === mode);
  if (answers.length === 0) return ['none of these families is updated in this mode'];
  const byWords = new Map<string, string[]>();
  for (const answer of answers) {
    const words = answerInWords(answer, volumes.length > 1);
    byWords.set(words, [...(byWords.get(words) ?? []), ...(answer.family === undefined ? [] : [answer.family])]);
  }
  return [...byWords].map(([words, families]) => (families.length === 0 ? words : `${families.join(', ')}: ${words}`));
}

const answers = { yes: 'would do', no: 'would not do', unknown: 'not known' };

function answerInWords({ answer, volume, reason }: ModeAnswer, isOneOfSeveral: boolean): string {
  const what = `${answers[answer]}${answer === 'yes' && isOneOfSeveral ? ` with ${volume}` : ''}`;
  if (reason === undefined) return what;
  const { seen, why } = textsOf(reason);
  const isMild = answer === 'yes' && severityOf(reason) === 'caution';
  return `${what}${isMild ? `; mind: ${seen} ${why}` : `: ${seen}`}  [${reason.code}]`;
}
