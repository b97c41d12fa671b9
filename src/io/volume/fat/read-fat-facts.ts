import { setImmediate as yieldToLoop } from 'node:timers/promises';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { bootSectorLabel, bootSectorSerial, readRootSlots } from '../../../core/volume-format/fat-root.ts';
import { countFreeEntries, readDirtyBits } from '../../../core/volume-format/fat-state.ts';
import type { SectorReader } from '../../../core/volume-format/sector-reader.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';

/** What a few sectors of a FAT volume tell. */
export interface FatHeadFacts {
  readonly rootSlotsFree: number | undefined;
  readonly label: string | undefined;
  readonly serial: string | undefined;
  readonly dirty: boolean;
}

interface FatVolumeFacts extends FatHeadFacts {
  readonly freeClusters: number;
}

const stepBytes = 2 ** 17;
/** A root folder of FAT32 is looked at so far for its label; labels stand first in practice. */
const maxRootClusters = 64;

/** DEVICE starts at the volume's boot sector. Reads the whole first allocation table, and writes nothing. */
export const readFatFacts = async (device: SectorDevice, geometry: FatGeometry): Promise<FatVolumeFacts> => ({
  ...readFatHeadFacts(device, geometry),
  freeClusters: await countFreeClusters(device, geometry),
});

export function readFatHeadFacts(device: SectorDevice, geometry: FatGeometry): FatHeadFacts {
  const boot = readBytes(device, 0, deviceSectorBytes);
  const fatAt = geometry.reservedSectors * geometry.sectorBytes;
  const isFat32 = geometry.kind === 'fat32';
  const root = readRootSlots(isFat32 ? readRootChain(device, geometry) : readFixedRoot(device, geometry));
  const dirty = readDirtyBits(geometry, boot, readBytes(device, fatAt, deviceSectorBytes));
  return {
    rootSlotsFree: isFat32 ? undefined : root.slotsFree,
    label: root.label ?? bootSectorLabel(boot, isFat32),
    serial: bootSectorSerial(boot, isFat32),
    dirty: dirty.bootSectorDirty || dirty.tableDirty || dirty.tableSawErrors,
  };
}

/** Counts the table itself; the number in FSInfo is only a hint (FAT specification, FSI_Free_Count). */
export async function countFreeClusters(device: SectorDevice, geometry: FatGeometry): Promise<number> {
  const fatAt = geometry.reservedSectors * geometry.sectorBytes;
  const tableBytes = geometry.fatSectors * geometry.sectorBytes;
  // Two leading entries stand for no cluster.
  if (geometry.kind === 'fat12') {
    return countFreeEntries('fat12', readBytes(device, fatAt, Math.min(tableBytes, 2 ** 14)), 2, geometry.clusters);
  }
  const entryBytes = geometry.kind === 'fat16' ? 2 : 4;
  const endByte = (geometry.clusters + 2) * entryBytes;
  const buffer = new Uint8Array(stepBytes);
  let free = 0;
  for (let at = 0; at < endByte; at += stepBytes) {
    const sectors = Math.ceil(Math.min(stepBytes, endByte - at) / deviceSectorBytes);
    device.readSectors((fatAt + at) / deviceSectorBytes, buffer.subarray(0, sectors * deviceSectorBytes));
    const skip = at === 0 ? 2 * entryBytes : 0;
    const used = buffer.subarray(skip, Math.min(stepBytes, endByte - at));
    free += countFreeEntries(geometry.kind, used, 0, used.length / entryBytes);
    if (at % (16 * stepBytes) === 0) await yieldToLoop();
  }
  return free;
}

const readFixedRoot = (device: SectorDevice, geometry: FatGeometry): Uint8Array =>
  readBytes(device, geometry.rootFirstSector * geometry.sectorBytes, geometry.rootSlots * 32);

/** The root's first clusters; stops where the chain leaves the volume, ends or has gone on long enough. */
function readRootChain(device: SectorDevice, geometry: FatGeometry): Uint8Array {
  const clusters: Uint8Array[] = [];
  let cluster = geometry.rootCluster ?? 0;
  while (cluster >= 2 && cluster < geometry.clusters + 2 && clusters.length < maxRootClusters) {
    const at = geometry.dataFirstSector * geometry.sectorBytes + (cluster - 2) * geometry.clusterBytes;
    clusters.push(readBytes(device, at, geometry.clusterBytes));
    const entryAt = geometry.reservedSectors * geometry.sectorBytes + cluster * 4;
    const sectorAt = entryAt - (entryAt % deviceSectorBytes);
    const sector = new DataView(readBytes(device, sectorAt, deviceSectorBytes).buffer);
    cluster = sector.getUint32(entryAt - sectorAt, true) & 0x0fffffff;
  }
  const bytes = new Uint8Array(clusters.length * geometry.clusterBytes);
  for (const [index, one] of clusters.entries()) bytes.set(one, index * geometry.clusterBytes);
  return bytes;
}

/** At and length are multiples of the device's sector. */
function readBytes(device: SectorDevice, at: number, length: number): Uint8Array {
  const into = new Uint8Array(length);
  device.readSectors(at / deviceSectorBytes, into);
  return into;
}

/** A device as the rules about FAT see it; what cannot be read is thrown as the device throws it. */
export const toSectorReader = (device: SectorDevice): SectorReader => ({
  sizeBytes: device.sizeBytes,
  readSectors(first, into) {
    device.readSectors(first, into);
    return true;
  },
});
