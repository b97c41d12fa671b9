import { fileSystemInWords, tableInWords } from '../../core/findings/catalogue/stick.ts';
import { roundedSize } from '../../core/findings/words.ts';
import type { Drive, MountedVolume } from '../../core/model/drive.ts';
import { exactSize, inMargin, type Look, painter, tame } from './page.ts';

const margin = 4;

/** Each drive with what the operating system tells of it; what it does not tell is said to be unknown. */
export function renderDrives(drives: readonly Drive[], look: Look): string {
  if (drives.length === 0) {
    return 'No removable USB drive is plugged in. (stickwright drives --all lists the others.)\n';
  }
  return drives.map((drive) => renderDrive(drive, look)).join('\n');
}

function renderDrive(drive: Drive, look: Look): string {
  const who = [drive.maker, drive.model].filter((word) => word !== undefined && word !== '').join(' ');
  const size = drive.bytes === undefined ? 'size unknown' : exactSize(drive.bytes);
  const lines = [
    painter(look)('bold', tame(`${drive.device}  ${who || 'maker unknown'}`)),
    inMargin(
      '',
      tame(`${size}; serial ${drive.serial || 'unknown'}; ${tableInWords(drive.partitionTable)}`),
      margin,
      look,
    ),
    ...drive.volumes.map((volume) => inMargin('', tame(describeVolume(volume)), margin, look)),
  ];
  if (drive.readOnly === true) lines.push(inMargin('', 'read-only: move its lock switch', margin, look));
  if (drive.refusedBecause !== undefined)
    lines.push(inMargin('', `never written: ${drive.refusedBecause}`, margin, look));
  return `${lines.join('\n')}\n`;
}

function describeVolume(volume: MountedVolume): string {
  const where = volume.mountPoints.length === 0 ? 'not mounted' : `at ${volume.mountPoints.join(', ')}`;
  const cluster =
    volume.clusterBytes === undefined ? '' : `, clusters of ${volume.clusterBytes.toLocaleString('en-US')} bytes`;
  const free = volume.freeBytes === undefined ? '' : `, ${roundedSize(volume.freeBytes)} free`;
  const label = volume.label === undefined || volume.label === '' ? '' : ` "${volume.label}"`;
  return `${volume.device}${label}: ${fileSystemInWords(volume.fileSystem)}${cluster}${free}; ${where}`;
}
