import { closeSync, openSync, readSync } from 'node:fs';
import { recogniseVolume, volumeHeadBytes } from '../../core/volume-format/boot-sector.ts';
import { bootSectorLabel } from '../../core/volume-format/fat-root.ts';
import { readOtherGeometry } from '../../core/volume-format/other-geometry.ts';
import { readPartitionTable } from '../../core/volume-format/partition-table.ts';
import type { Drive, MountedVolume } from './drives.ts';

/** Drives that might be a stick are asked themselves; others are left asleep. Where the sectors may not be read, nothing changes. */
export function readSectorsOf(drive: Drive): Drive {
  const mayBeStick = drive.usb === true || drive.device.startsWith('/dev/loop');
  if (!mayBeStick || drive.bytes === 0) return drive;
  const head = readHead(drive.device);
  const table = head === undefined ? undefined : readPartitionTable(head, drive.bytes ?? Number.MAX_SAFE_INTEGER).table;
  const bare = table === 'none' && drive.volumes.length === 0 ? [wholeDrive(drive)] : drive.volumes;
  return {
    ...drive,
    partitionTable: table === undefined || table === 'unknown' ? drive.partitionTable : table,
    volumes: bare.map(readVolume),
  };
}

const wholeDrive = (drive: Drive): MountedVolume => ({
  device: drive.device,
  mountPoints: [],
  fileSystem: 'unknown',
  label: undefined,
  bytes: drive.bytes,
  freeBytes: undefined,
  clusterBytes: undefined,
  readOnly: drive.readOnly,
});

function readVolume(volume: MountedVolume): MountedVolume {
  const head = readHead(volume.device);
  if (head === undefined) return volume;
  const { fileSystem, fat } = recogniseVolume(head);
  if (fileSystem === 'unknown') return volume;
  const cluster = fat?.clusterBytes ?? readOtherGeometry(fileSystem, head)?.clusterBytes;
  const label = fat === undefined ? undefined : bootSectorLabel(head, fat.kind === 'fat32');
  return {
    ...volume,
    fileSystem,
    clusterBytes: cluster ?? volume.clusterBytes,
    label: volume.label ?? label,
  };
}

/** The first bytes of a device or file; undefined where they may not be read. */
export function readHead(path: string): Uint8Array | undefined {
  let fd: number;
  try {
    fd = openSync(path, 'r');
  } catch {
    return undefined;
  }
  try {
    const head = new Uint8Array(volumeHeadBytes);
    return head.subarray(0, readSync(fd, head, 0, head.length, 0));
  } catch {
    return undefined;
  } finally {
    closeSync(fd);
  }
}
