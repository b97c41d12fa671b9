import { mkdtemp, rm, truncate, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { powerShellLiteral } from '../../core/text/words.ts';
import {
  encodeMbr,
  partitionFirstSector,
  partitionSectors,
} from '../../core/volume-format/layout/encode-fat-volume.ts';
import type { SystemCommand } from '../programs/find-program.ts';
import { powerShellWords, runOfSystem } from '../programs/run-powershell.ts';
import { reasonOf, runChange } from '../programs/run-program.ts';
import { openFileDevice } from '../volume/file-device.ts';
import { deviceSectorBytes, type SectorDevice } from '../volume/sector-device.ts';

export interface ExfatWish {
  readonly bytes: number;
  readonly clusterBytes: number | undefined;
  readonly volumeLabel: string | undefined;
  readonly volumeSerial: number;
}

/**
 * The formatter of this system and its words; PLACE is where the volume is made. exfatprogs mkfs.exfat(8) on Linux;
 * newfs_exfat(8) on macOS and Format-Volume on Windows have not been run.
 */
export function exfatCommand(
  place: string,
  { clusterBytes, volumeLabel }: ExfatWish,
  platform: NodeJS.Platform,
): SystemCommand {
  switch (platform) {
    case 'darwin': {
      const cluster = clusterBytes === undefined ? [] : ['-b', String(clusterBytes)];
      return ['newfs_exfat', ...cluster, ...(volumeLabel === undefined ? [] : ['-v', volumeLabel]), place];
    }
    case 'win32': {
      const number = /PhysicalDrive(\d+)$/i.exec(place)?.[1] ?? '';
      const label = volumeLabel === undefined ? '' : ` -NewFileSystemLabel ${powerShellLiteral(volumeLabel)}`;
      const cluster = clusterBytes === undefined ? '' : ` -AllocationUnitSize ${clusterBytes}`;
      return powerShellWords(formatScript(number, `-FileSystem exFAT${cluster}${label}`));
    }
    default: {
      const cluster = clusterBytes === undefined ? [] : ['-c', String(clusterBytes)];
      return ['mkfs.exfat', ...cluster, ...(volumeLabel === undefined ? [] : ['-L', volumeLabel]), place];
    }
  }
}

/**
 * The table is on the medium by now, and Windows is told so. What it makes of that differs with what lay there before:
 * mostly it shows the one partition; where it takes the drive for raw, or shows none, the partition is made by Windows
 * itself, and it is no fault where it says that there is one (Storage module: Initialize-Disk fails where there is a
 * table, and on removable media; New-Partition where there is no space). Format-Volume alone must do what it says.
 */
const formatScript = (number: string, words: string): string =>
  [
    `$ErrorActionPreference = 'Stop'`,
    `Update-Disk -Number ${number}`,
    `$part = $null`,
    `foreach ($try in 1..10) { if (-not $part) { $part = Get-Partition -DiskNumber ${number} -ErrorAction SilentlyContinue | Select-Object -First 1; if (-not $part) { Start-Sleep -Milliseconds 500 } } }`,
    `if (-not $part -and (Get-Disk -Number ${number}).PartitionStyle -eq 'RAW') { try { Initialize-Disk -Number ${number} -PartitionStyle MBR } catch { } }`,
    `if (-not $part) { $part = New-Partition -DiskNumber ${number} -UseMaximumSize -MbrType IFS }`,
    `$volume = $part | Format-Volume ${words} -Confirm:$false`,
    `if ($volume.FileSystem -ne 'exFAT') { throw 'Windows formatted it, and it is no exFAT' }`,
    `if (-not $part.DriveLetter) { try { $part | Add-PartitionAccessPath -AssignDriveLetter } catch { } }`,
  ].join('; ');

/**
 * The table and, on Linux, the volume: has the system's formatter make the volume in an empty file of the partition's
 * size, which takes no space, and brings the few sectors that it wrote to the medium; so a plain image and a drive are
 * made the same way.
 */
export async function writeExfat(device: SectorDevice, target: string, wish: ExfatWish): Promise<void> {
  const sectors = partitionSectors(Math.floor(wish.bytes / deviceSectorBytes));
  if (process.platform !== 'linux') {
    device.writeSectors(0, encodeMbr('exfat', sectors, wish.volumeSerial));
    return;
  }
  const folder = await mkdtemp(resolve(tmpdir(), 'stickwright-exfat-'));
  try {
    const volume = join(folder, 'volume');
    await writeFile(volume, '', { flag: 'wx', mode: 0o600 });
    await truncate(volume, sectors * deviceSectorBytes);
    const [program, ...args] = exfatCommand(volume, wish, 'linux');
    await runChange(program, args).catch((error: unknown) => {
      throw noFormatter(target, error);
    });
    await copyHead(volume, device);
    device.writeSectors(0, encodeMbr('exfat', sectors, wish.volumeSerial));
    await device.flush();
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** Where the formatter of PLATFORM makes the volume on the drive at PATH: Windows finds the partition itself. */
export const exfatPlace = (path: string, platform: NodeJS.Platform): string =>
  platform === 'darwin' ? `${path}s1` : path;

/** macOS and Windows: the system's formatter works on the drive itself. Neither has been run. */
export async function makeExfatOnDrive(path: string, wish: ExfatWish): Promise<void> {
  const [program, ...args] = exfatCommand(exfatPlace(path, process.platform), wish, process.platform);
  await runOfSystem(program, args, runChange).catch((error: unknown) => {
    throw noFormatter(path, error);
  });
}

/**
 * Boot regions, table and, at the start of the heap, bitmap, up-case table and root folder (exFAT specification,
 * section 2 and 7.1).
 */
async function copyHead(volume: string, device: SectorDevice): Promise<void> {
  const from = openFileDevice(volume, 'read');
  try {
    const boot = new Uint8Array(deviceSectorBytes);
    from.readSectors(0, boot);
    const view = new DataView(boot.buffer);
    const clusterBytes = 2 ** (view.getUint8(108) + view.getUint8(109));
    const heapAt = view.getUint32(88, true) * 2 ** view.getUint8(108);
    const end = Math.min(from.sizeBytes, heapAt + (view.getUint32(96, true) - 1) * clusterBytes);
    const step = new Uint8Array(2 ** 20);
    for (let at = 0; at < end; at += step.length) {
      const part = step.subarray(0, Math.min(step.length, end - at));
      from.readSectors(at / deviceSectorBytes, part);
      device.writeSectors(partitionFirstSector + at / deviceSectorBytes, part);
    }
  } finally {
    await from.close();
  }
}

const noFormatter = (target: string, cause: unknown): ToolError =>
  new ToolError(
    'stick/unsupported-file-system',
    target,
    `the formatter for exFAT did not do it: ${reasonOf(cause)}`,
    'Install exfatprogs (Linux), or format the stick as exFAT with the formatter of your system; FAT32 needs no other program.',
    cause,
  );
