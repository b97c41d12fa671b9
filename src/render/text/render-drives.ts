import { fileSystemInWords, tableInWords } from '../../core/findings/catalogue/stick.ts';
import { roundedSize } from '../../core/findings/words.ts';
import type { Drive, JudgedDrive, MountedVolume } from '../../core/model/drive.ts';
import { modes } from '../../core/model/mode.ts';
import { modeInWords } from './mode-in-words.ts';
import { exactSize, inMargin, type Look, painter, tame } from './page.ts';

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
export const oneLine = (text: string): string => tame(text).replaceAll('\n', ' ');

/** Maker and model; what is not told of them is said. */
export function nameInWords({ maker, model }: Drive): string {
  if (maker) return model ? `${maker} ${model}` : `${maker} (model unknown)`;
  return model ? `${model} (maker unknown)` : 'maker and model unknown';
}

export const writableInWords = (readOnly: boolean | undefined): string =>
  readOnly === undefined
    ? 'read-only or not: unknown'
    : readOnly
      ? 'READ-ONLY: move its lock switch'
      : 'can be written';

export const labelInWords = (label: string | undefined): string => (label ? `"${label}"` : 'no label known');

export const placeInWords = (mountPoints: readonly string[]): string =>
  mountPoints.length === 0 ? 'not mounted' : `at ${mountPoints.join(', ')}`;

export const clusterInWords = (clusterBytes: number | undefined): string =>
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
