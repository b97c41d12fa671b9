import { fileSystemInWords, tableInWords } from '../../core/findings/catalogue/stick.ts';
import type { LabelReading } from '../../core/model/panel-identity.ts';
import type { StickFacts } from '../../core/model/stick-facts.ts';
import { countInWords, exactSize, roundedSize } from '../../core/text/words.ts';
import type { ArchiveAnswer } from '../../core/update-package/update-package-facts.ts';
import { inMargin, type Look, tame } from './page.ts';

const margin = 13;

/** One labelled fact; the label stands in the margin. */
export const fact = (name: string, text: string, look: Look): string => `${inMargin(name, tame(text), margin, look)}\n`;

/** A text of several lines, as a maker wrote it. */
export const factInLines = (name: string, text: string, look: Look): string =>
  `${inMargin(name, text.trim().replace(/\r\n?/g, '\n'), margin, look)}\n`;

export function renderArchive({ facts, package: named, digests }: ArchiveAnswer, look: Look): string {
  const files = facts.entries.filter(({ folder }) => !folder).length;
  const build = named.readings.length === 1 ? named.readings[0]?.build : undefined;
  const unpacked = facts.entries.reduce((sum, { bytes }) => sum + bytes, 0);
  return [
    fact('Archive', facts.fileName, look),
    fact(
      '',
      `${exactSize(facts.bytes)}${files > 0 ? `; ${countInWords(files, 'file')}, ${roundedSize(unpacked)} unpacked` : ''}`,
      look,
    ),
    build === undefined ? '' : fact('Build', build, look),
    digests === undefined ? '' : fact('SHA-256', digests.sha256, look),
  ].join('');
}

export function renderLabel(label: LabelReading, look: Look): string {
  const [reading, ...others] = label.readings;
  const parts = reading === undefined ? '' : Object.entries(reading.parts).map(([part, value]) => `${part} ${value}`);
  return [
    fact('Label', label.text, look),
    reading === undefined || others.length > 0
      ? ''
      : fact('', `${reading.family.title}: ${[...parts].join(', ')}`, look),
  ].join('');
}

export function renderStick(stick: StickFacts, look: Look): string {
  const { drive } = stick;
  const cluster =
    stick.clusterBytes === undefined ? '' : `, clusters of ${stick.clusterBytes.toLocaleString('en-US')} bytes`;
  const table =
    stick.partitionTable === 'unknown' ? 'partition table not readable' : tableInWords(stick.partitionTable);
  const who = [drive?.maker, drive?.model, drive?.serial].filter((word) => word !== undefined && word !== '');
  return [
    fact('Stick', stick.target, look),
    fact('', `${fileSystemInWords(stick.fileSystem)}${cluster}; ${table}`, look),
    fact('', `${exactSize(stick.mediumBytes ?? stick.volumeBytes)} in all; ${exactSize(stick.freeBytes)} free`, look),
    drive === undefined ? '' : fact('', [drive.device, ...who].join(' '), look),
    stick.volumeLabel === undefined && stick.volumeSerial === undefined
      ? ''
      : fact('', `volume ${[stick.volumeLabel, stick.volumeSerial].filter(Boolean).join(' ')}`, look),
  ].join('');
}
