import type { DriveEvent } from '../../core/drives/compare-drives.ts';
import { fileSystemInWords, tableInWords } from '../../core/findings/catalogue/stick.ts';
import { roundedSize } from '../../core/findings/words.ts';
import type { JudgedDrive, MountedVolume } from '../../core/model/drive.ts';
import { modes } from '../../core/model/mode.ts';
import { modeInWords } from './mode-in-words.ts';
import { type Look, padded, painter, tame } from './page.ts';
import { clusterInWords, labelInWords, nameInWords, oneLine, placeInWords, writableInWords } from './render-drives.ts';

/** One line, never wrapped: a terminal wraps it by itself, and a log keeps it whole. TIME is what the clock on the wall shows. */
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

const volumeInShort = (volume: MountedVolume): string =>
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
