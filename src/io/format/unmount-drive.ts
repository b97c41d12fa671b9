import { ToolError } from '../../core/model/tool-error.ts';
import { powerShellLiteral } from '../../core/text/words.ts';
import type { Drive } from '../drives/drives.ts';
import type { SystemCommand, SystemProgram } from '../programs/find-program.ts';
import { powerShellWords, runOfSystem } from '../programs/run-powershell.ts';
import { reasonOf, runChange, runProgram } from '../programs/run-program.ts';

/**
 * The commands that let go of every volume of DRIVE, in the order to try them for each; for showing and for running.
 */
export function unmountCommands(drive: Drive, platform: NodeJS.Platform): readonly SystemCommand[] {
  const number = /PhysicalDrive(\d+)$/i.exec(drive.device)?.[1];
  switch (platform) {
    case 'darwin':
      return [['diskutil', 'unmountDisk', drive.device]];
    case 'win32':
      return [powerShellWords(clearScript(number ?? '', drive))];
    default:
      return drive.volumes.flatMap(({ mountPoints }) => mountPoints.map((point): SystemCommand => ['umount', point]));
  }
}

/**
 * Clear-Disk takes the volumes away, and with them the letters; writing under a mounted one is refused by the system.
 * It is asked once more in the same breath whether it is the drive that was shown. A drive without a table has nothing
 * to clear, and Clear-Disk fails on it (Storage module). Not run on a real Windows.
 */
function clearScript(number: string, { bytes, serial }: Drive): string {
  const seen = `([string]$disk.SerialNumber).Replace([string][char]0, '').Trim()`;
  const differs = [
    '$disk.IsBoot',
    '$disk.IsSystem',
    ...(bytes === undefined ? [] : [`$disk.Size -ne ${bytes}`]),
    `${seen} -ne ${powerShellLiteral(serial ?? '')}`,
  ];
  return [
    `$ErrorActionPreference = 'Stop'`,
    `$disk = Get-Disk -Number ${number}`,
    `if (${differs.join(' -or ')}) { throw 'another drive is plugged in there than the one that was shown' }`,
    `if ($disk.PartitionStyle -ne 'RAW') { Clear-Disk -Number ${number} -RemoveData -RemoveOEM -Confirm:$false }`,
  ].join('; ');
}

/** Unmounts all volumes of DRIVE, never by force. Throws `stick/in-use` with what the system said. */
export async function unmountDrive(drive: Drive): Promise<void> {
  for (const [program, ...args] of unmountCommands(drive, process.platform)) {
    const failure = await tryUnmount(program, args, drive);
    if (failure !== undefined)
      throw new ToolError(
        'stick/in-use',
        drive.device,
        `it cannot be unmounted: ${failure}`,
        'Close the windows and programs that show the stick, then run the same command again. On Linux, root may be needed.',
      );
  }
}

/** Where umount is for root only, the desktop's own service may let go (udisksctl(1)). */
async function tryUnmount(program: SystemProgram, args: readonly string[], drive: Drive): Promise<string | undefined> {
  try {
    await runOfSystem(program, args, runChange);
    return undefined;
  } catch (error) {
    const volume = drive.volumes.find(({ mountPoints }) => mountPoints.includes(args[0] ?? ''));
    if (program !== 'umount' || volume === undefined) return reasonOf(error);
    const viaService = runProgram('udisksctl', ['unmount', '--no-user-interaction', '--block-device', volume.device]);
    return await viaService.then(
      () => undefined,
      () => reasonOf(error),
    );
  }
}
