import { randomInt } from 'node:crypto';
import { ToolError } from '../../core/model/tool-error.ts';
import type { FatKind } from '../../core/volume-format/fat-geometry.ts';
import {
  encodeFatVolume,
  encodeMbr,
  type FatTime,
  partitionFirstSector,
  partitionSectors,
  type SectorWrite,
  sectorsToClear,
} from '../../core/volume-format/layout/encode-fat-volume.ts';
import { type FatLayout, layoutSectorBytes, planFatLayout } from '../../core/volume-format/layout/plan-fat-layout.ts';

export interface StickWish {
  /** Size of the whole medium. */
  readonly bytes: number;
  readonly fileSystem: FatKind;
  /** Undefined: as Microsoft's published table has it. */
  readonly clusterBytes?: number | undefined;
  /** Eleven characters of the FAT label set at most. */
  readonly volumeLabel?: string | undefined;
  /** 32 bits; undefined: drawn at random. */
  readonly volumeSerial?: number | undefined;
  /** Whether an MBR with one partition goes before the volume. */
  readonly partitioned: boolean;
  /** Undefined: now. Written as UTC, so that the same wishes make the same bytes anywhere. */
  readonly at?: Date | undefined;
}

export interface StickLayout {
  readonly layout: FatLayout;
  /** Sectors from the medium's start that must be zero first. */
  readonly clearSectors: number;
  /** All that is not zero, in the order in which it is safe to write: the partition table last. */
  readonly writes: readonly SectorWrite[];
}

/** Throws ToolError `stick/refused` where there is no such volume; TARGET is only named in it. */
export function layOutStick(target: string, wish: StickWish): StickLayout {
  const mediumSectors = Math.floor(wish.bytes / layoutSectorBytes);
  const first = wish.partitioned ? partitionFirstSector : 0;
  const totalSectors = wish.partitioned ? partitionSectors(mediumSectors) : mediumSectors;
  const answer = planFatLayout({
    kind: wish.fileSystem,
    totalSectors,
    hiddenSectors: first,
    clusterBytes: wish.clusterBytes,
  });
  if (answer.outcome === 'impossible') throw noSuchVolume(target, answer.problem);
  const { layout } = answer;
  const serial = wish.volumeSerial ?? randomInt(2 ** 32);
  const text = { label: checkVolumeLabel(wish.volumeLabel), serial, at: toFatTime(wish.at ?? new Date()) };
  const volume = encodeFatVolume(layout, text).map(({ sector, bytes }) => ({ sector: first + sector, bytes }));
  const table = wish.partitioned
    ? [{ sector: 0, bytes: encodeMbr(wish.fileSystem, layout.totalSectors, ~serial) }]
    : [];
  return { layout, clearSectors: first + sectorsToClear(layout), writes: [...volume, ...table] };
}

const noSuchVolume = (target: string, problem: string): ToolError =>
  new ToolError(
    'stick/refused',
    target,
    `there is no such volume: it ${problem}`,
    'Choose another size or another cluster size, or leave the cluster size to the published table.',
  );

/** Letters, digits and signs that a short name may hold, and spaces (FAT specification, "Short Directory Entries"). */
const allowed = /^[A-Z0-9!#$%&'()\-@^_`{}~][A-Z0-9!#$%&'()\-@^_`{}~ ]{0,10}$/;

/**
 * The label as FAT stores it, in upper case. Throws ToolError `stick/refused` for one that readers would disagree on.
 */
function checkVolumeLabel(label: string | undefined): string | undefined {
  const upper = label?.trimEnd().toUpperCase();
  if (upper === undefined || upper === '' || upper === 'NO NAME') return undefined;
  if (allowed.test(upper)) return upper;
  throw new ToolError(
    'stick/refused',
    label ?? '',
    `"${label}" cannot be the name of a FAT volume`,
    'Take at most 11 letters, digits, spaces or dashes, without accents.',
  );
}

/** A moment in UTC; nothing that reads a label's time depends on the zone, and the same moment makes the same bytes. */
const toFatTime = (at: Date): FatTime => ({
  year: at.getUTCFullYear(),
  month: at.getUTCMonth() + 1,
  day: at.getUTCDate(),
  hour: at.getUTCHours(),
  minute: at.getUTCMinutes(),
  second: at.getUTCSeconds(),
});
