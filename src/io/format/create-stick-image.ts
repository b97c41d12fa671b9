import { randomInt } from 'node:crypto';
import { open } from 'node:fs/promises';
import { ToolError } from '../../core/model/tool-error.ts';
import type { FatKind } from '../../core/volume-format/fat-geometry.ts';
import { encodeFatVolume, type SectorWrite } from '../../core/volume-format/layout/encode-fat-volume.ts';
import { encodeMbr, partitionFirstSector, partitionSectors } from '../../core/volume-format/layout/encode-mbr.ts';
import { layoutSectorBytes, planFatLayout } from '../../core/volume-format/layout/plan-fat-layout.ts';
import { toStickError } from '../volume/os-error.ts';
import { checkVolumeLabel } from './check-volume-label.ts';
import { toFatTime } from './to-fat-time.ts';

export interface StickImageOptions {
  /** Size of the whole image. */
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
  /** Undefined: now. Written as UTC, so that the same options make the same bytes anywhere. */
  readonly at?: Date | undefined;
}

/**
 * Makes a new sparse image file of an empty FAT stick. Throws ToolError `stick/name-taken` where PATH exists, `stick/refused`
 * where there is no such volume, and what the disk says.
 */
export async function createStickImage(path: string, options: StickImageOptions): Promise<void> {
  const writes = layOutStick(path, options);
  try {
    const file = await open(path, 'wx');
    try {
      await file.truncate(options.bytes);
      for (const { sector, bytes } of writes) await file.write(bytes, 0, bytes.length, sector * layoutSectorBytes);
      await file.sync();
    } finally {
      await file.close();
    }
  } catch (error) {
    throw toStickError(error, 'write', path);
  }
}

/** All sectors of the stick that are not zero, the partition table last. */
function layOutStick(target: string, options: StickImageOptions): readonly SectorWrite[] {
  const { fileSystem, clusterBytes, volumeLabel, partitioned } = options;
  const mediumSectors = Math.floor(options.bytes / layoutSectorBytes);
  const first = partitioned ? partitionFirstSector : 0;
  const totalSectors = partitioned ? partitionSectors(mediumSectors) : mediumSectors;
  const answer = planFatLayout({ kind: fileSystem, totalSectors, hiddenSectors: first, clusterBytes });
  if (answer.outcome === 'impossible') throw noSuchVolume(target, answer.problem);
  const serial = options.volumeSerial ?? randomInt(2 ** 32);
  const text = { label: checkVolumeLabel(volumeLabel), serial, at: toFatTime(options.at ?? new Date()) };
  const volume = encodeFatVolume(answer.layout, text).map(({ sector, bytes }) => ({ sector: first + sector, bytes }));
  if (!partitioned) return volume;
  return [...volume, { sector: 0, bytes: encodeMbr(fileSystem, answer.layout.totalSectors, ~serial) }];
}

export const noSuchVolume = (target: string, problem: string): ToolError =>
  new ToolError(
    'stick/refused',
    target,
    `there is no such volume: it ${problem}`,
    'Choose another size or another cluster size, or leave the cluster size to the published table.',
  );
