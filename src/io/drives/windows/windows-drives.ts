import { parse } from 'node:path';
import { runProgram } from '../../programs/run-program.ts';
import type { DriveSource, Mount } from '../drive-source.ts';
import type { Drive } from '../drives.ts';
import { parseStorage } from './parse-storage.ts';

/** Names of enumerations instead of their numbers, which differ between versions (Storage module, Get-Disk and others). */
const script = `
$ErrorActionPreference = 'Stop'
[Console]::OutputEncoding = [Text.Encoding]::UTF8
$disks = Get-Disk | Select-Object Number, FriendlyName, Manufacturer, Model, SerialNumber, Size, IsBoot, IsSystem, IsReadOnly,
  @{n='BusType';e={"$($_.BusType)"}}, @{n='PartitionStyle';e={"$($_.PartitionStyle)"}}
$partitions = Get-Partition | Select-Object DiskNumber, PartitionNumber, Size, IsReadOnly, AccessPaths,
  @{n='DriveLetter';e={if ($_.DriveLetter) {"$($_.DriveLetter)"} else {''}}}
$volumes = Get-Volume | Select-Object Size, SizeRemaining, AllocationUnitSize, FileSystemLabel,
  @{n='FileSystem';e={"$($_.FileSystem)"}}, @{n='DriveType';e={"$($_.DriveType)"}}, @{n='DriveLetter';e={if ($_.DriveLetter) {"$($_.DriveLetter)"} else {''}}}
@{ disks = @($disks); partitions = @($partitions); volumes = @($volumes) } | ConvertTo-Json -Depth 4 -Compress
`;

/** One call of PowerShell. Its parser is checked with recorded output; the call is not exercised on this OS. */
export const windowsDrives: DriveSource = {
  listDrives: async (inUse) => parseStorage(await runStorageScript(), inUse),

  async mountOf(path): Promise<Mount | undefined> {
    const letter = letterOf(path);
    const drives = await this.listDrives([]);
    const volume = drives.flatMap((drive) => drive.volumes).find((one) => one.device.toUpperCase() === `${letter}:`);
    if (volume === undefined) return undefined;
    return {
      mountPoint: `${letter}:\\`,
      device: rawDevice(drives, letter),
      osType: volume.fileSystem === 'unknown' ? 'fat' : volume.fileSystem,
      readOnly: volume.readOnly === true,
      readsDirect: true,
    };
  },
};

/** Encoded, so that no quoting rule of the command line touches it (about_PowerShell_exe, -EncodedCommand: UTF-16LE, Base64). */
const runStorageScript = (): Promise<string> => {
  const encoded = Buffer.from(script, 'utf16le').toString('base64');
  return runProgram('powershell.exe', ['-NoProfile', '-NonInteractive', '-EncodedCommand', encoded]);
};

const letterOf = (path: string): string => parse(path).root.slice(0, 1).toUpperCase();

/** A volume's sectors under the name that opens them, where there is such a volume. */
const rawDevice = (drives: readonly Drive[], letter: string): string | undefined =>
  drives.some((drive) => drive.volumes.some((volume) => volume.device.toUpperCase() === `${letter}:`))
    ? `\\\\.\\${letter}:`
    : undefined;
