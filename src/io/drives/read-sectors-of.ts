import { closeSync, openSync, readSync, statSync } from 'node:fs';
import type { Partition, PartitionTable } from '../../core/model/stick-facts.ts';
import { recogniseVolume, volumeHeadBytes } from '../../core/volume-format/boot-sector.ts';
import { bootSectorLabel, readOtherGeometry } from '../../core/volume-format/fat-root.ts';
import { readPartitionTable } from '../../core/volume-format/partition-table.ts';
import type { Drive, MountedVolume } from './drives.ts';

/**
 * Drives that might be a stick are asked themselves; others are left asleep. Where the sectors may not be read, nothing
 * changes.
 */
export function readSectorsOf(drive: Drive): Drive {
  const mayBeStick = drive.usb === true || drive.device.startsWith('/dev/loop');
  if (!mayBeStick || drive.bytes === 0) return drive;
  const head = readHead(drive.device);
  if (head === undefined) return { ...drive, volumes: drive.volumes.map((volume) => readVolume(volume)) };
  const { table, partitions } = readPartitionTable(head, drive.bytes ?? Number.MAX_SAFE_INTEGER);
  return {
    ...drive,
    partitionTable: table === 'unknown' ? drive.partitionTable : table,
    volumes:
      drive.volumes.length > 0 ? drive.volumes.map((volume) => readVolume(volume)) : unlisted(drive, table, partitions),
  };
}

/** Volumes that the sectors show although the operating system lists none. */
function unlisted(drive: Drive, table: PartitionTable, partitions: readonly Partition[]): readonly MountedVolume[] {
  if (table === 'none') return [readVolume(unread(drive, drive.device, drive.bytes))];
  return partitions.map(({ number, startByte, bytes }) =>
    readVolume(unread(drive, `${drive.device} partition ${number}`, bytes), readHead(drive.device, startByte)),
  );
}

const unread = (drive: Drive, device: string, bytes: number | undefined): MountedVolume => ({
  device,
  mountPoints: [],
  fileSystem: 'unknown',
  label: undefined,
  bytes,
  freeBytes: undefined,
  clusterBytes: undefined,
  sectorBytes: undefined,
  readOnly: drive.readOnly,
});

function readVolume(volume: MountedVolume, head = readHead(volume.device)): MountedVolume {
  if (head === undefined) return volume;
  const { fileSystem, fat } = recogniseVolume(head);
  if (fileSystem === 'unknown') return volume;
  const geometry = fat ?? readOtherGeometry(fileSystem, head);
  const label = fat === undefined ? undefined : bootSectorLabel(head, fat.kind === 'fat32');
  return {
    ...volume,
    fileSystem,
    clusterBytes: geometry?.clusterBytes ?? volume.clusterBytes,
    sectorBytes: geometry?.sectorBytes ?? volume.sectorBytes,
    label: volume.label ?? label,
  };
}

/** The first bytes of a device or file, or those from BYTE START on; undefined where they may not be read. */
export function readHead(path: string, startByte = 0): Uint8Array | undefined {
  let fd: number;
  try {
    // The name comes from a table of mounts, where a driver may write anything, also that of a pipe.
    const found = process.platform === 'win32' ? undefined : statSync(path);
    if (found !== undefined && !found.isFile() && !found.isBlockDevice() && !found.isCharacterDevice())
      return undefined;
    // Windows opens the sectors behind a letter by another name; the letter alone is a folder.
    fd = openSync(/^[a-z]:$/i.test(path) ? `\\\\.\\${path}` : path, 'r');
  } catch {
    return undefined;
  }
  try {
    const head = new Uint8Array(volumeHeadBytes);
    return head.subarray(0, readSync(fd, head, 0, head.length, startByte));
  } catch {
    return undefined;
  } finally {
    closeSync(fd);
  }
}
