import { cutClassOf, proofFolder, stagingFolder } from '../../../core/manifest/stick-names.ts';
import type { DriveFacts, StickFacts, TargetKind } from '../../../core/model/stick-facts.ts';
import { ToolError } from '../../../core/model/tool-error.ts';
import { otherVolumesOn } from '../../../core/volume-format/audit/volumes-on-medium.ts';
import { foldName } from '../../../core/volume-format/fat-name.ts';
import { findCutNames } from '../../../core/volume-format/find-cut-names.ts';
import type { FreshDevice, SectorDevice } from '../sector-device.ts';
import type { Volume } from '../volume.ts';
import { FatVolume } from './fat-volume.ts';
import { FatFsSession } from './fatfs-session.ts';
import { findFatVolume, viewPartition } from './find-fat-volume.ts';
import { FreshPlaces } from './fresh-places.ts';
import { CutNames } from './list-entries.ts';
import { type ChangeOrder, OrderedDevice } from './ordered-device.ts';
import { readFatFacts, toSectorReader } from './read-fat-facts.ts';
import { ReaderPool } from './reader-pool.ts';

export interface FatMedium {
  /** The whole medium, with or without a partition table. Closed with the volume. */
  readonly device: SectorDevice;
  /** Opens the medium a second time, past the first one's memory. */
  readonly openFresh: () => FreshDevice;
  /** As the person gave it. */
  readonly target: string;
  readonly kind: TargetKind;
  /** The medium itself cannot be written, whatever it was opened for. */
  readonly writeProtected: boolean;
  readonly drive: DriveFacts | undefined;
  /** As in `StickFacts`. */
  readonly driveUnlisted?: string | undefined;
  /** What lies around it, where it is one partition of a drive. */
  readonly around?: Pick<StickFacts, 'partitionTable' | 'partitions' | 'otherVolumes' | 'mediumBytes'> | undefined;
  /** As in `OpenOptions`. */
  readonly at?: string | undefined;
}

/**
 * The FAT volume on MEDIUM, its first one where there are several (the facts list all partitions). Takes over the
 * device.
 */
export async function openFatVolume(medium: FatMedium): Promise<Volume> {
  const { device } = medium;
  try {
    return await open(medium);
  } catch (error) {
    await device.close();
    throw error;
  }
}

async function open(medium: FatMedium): Promise<Volume> {
  const { device, target } = medium;
  const found = findFatVolume(device, target);
  const { geometry } = found;
  const view = (whole: SectorDevice): SectorDevice => viewPartition(whole, found.startByte, found.bytes);
  const volumeBytes = geometry.totalSectors * geometry.sectorBytes;
  if (volumeBytes > found.bytes) throw cutShort(target, volumeBytes, found.bytes);

  let writes = 0;
  const counted: SectorDevice = {
    ...view(device),
    writeSectors: (first, from) => {
      writes++;
      view(device).writeSectors(first, from);
    },
  };
  const fat = await readFatFacts(counted, geometry);
  const facts: StickFacts = {
    target,
    kind: medium.kind,
    fileSystem: geometry.kind,
    fileSystemFrom: 'boot-sector',
    ...(medium.around ?? {
      partitionTable: found.table,
      partitions: found.partitions,
      otherVolumes: { from: 'sectors', volumes: otherVolumesOn(toSectorReader(device), found.startByte) },
      mediumBytes: device.sizeBytes,
    }),
    volumeBytes,
    freeBytes: fat.freeClusters * geometry.clusterBytes,
    clusterBytes: geometry.clusterBytes,
    sectorBytes: geometry.sectorBytes,
    rootSlotsFree: fat.rootSlotsFree,
    volumeLabel: fat.label,
    volumeSerial: fat.serial,
    readOnly: medium.writeProtected,
    dirty: fat.dirty,
    drive: medium.drive,
    driveUnlisted: medium.driveUnlisted,
  };
  const shared = (): FreshDevice => ({
    device: { ...view(device), close: async () => {} },
    readBack: 'cache',
  });
  const ordered = new OrderedDevice(counted, geometry);
  const countWrites = (): number => writes;
  return new FatVolume({
    facts,
    session: await FatFsSession.open(ordered, geometry, fat.freeClusters, medium.at),
    device,
    ordered,
    cutNames: new CutNames(ordered, () => findCutNames(toSectorReader(counted), geometry, cutClassOf)),
    renameOrder,
    isStaged: (path) => largeWork.some((folder) => foldName(path).startsWith(folder)),
    writes: countWrites,
    openFreshPool: () => new ReaderPool(medium.openFresh, view, geometry, countWrites),
    openFreshPlaces: () =>
      new FreshPlaces({
        openFresh: medium.openFresh,
        view,
        geometry,
        startByte: found.startByte,
        writes: countWrites,
      }),
    openCachedPool: () => new ReaderPool(shared, (whole) => whole, geometry, countWrites),
  });
}

/** What may be lost but for the space that it takes. */
const largeWork = [stagingFolder, proofFolder].map((folder) => `${foldName(folder)}/`);

/**
 * Staged firmware can be written again, so it may be lost; but not found half under its final name after a repair.
 * Repairs keep the names in the root, and only below it is it open which of two names they keep.
 */
const renameOrder = (from: string, to: string): ChangeOrder =>
  cutClassOf(from) === 'work' && to.includes('/') && cutClassOf(to) === 'other' ? 'old-name-first' : 'new-name-first';

const cutShort = (target: string, stated: number, there: number): ToolError =>
  new ToolError(
    'stick/unsupported-file-system',
    target,
    `its FAT volume states ${stated} bytes, but only ${there} bytes are there`,
    'The image is cut short, or the stick was formatted for a size that it does not have. Copy the image again, or format the stick.',
  );
