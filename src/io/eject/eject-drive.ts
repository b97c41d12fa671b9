import type { Drive } from '../drives/drives.ts';
import type { EjectAnswer, RunProgram } from './eject-answer.ts';
import { ejectOnLinux } from './eject-on-linux.ts';
import { ejectOnMacos } from './eject-on-macos.ts';
import { ejectOnWindows } from './eject-on-windows.ts';

/** Has the system write all it holds, unmounts every volume of DRIVE (never by force) and, where there is a command, cuts its power. */
export async function ejectDrive(drive: Drive, run: RunProgram, platform: NodeJS.Platform): Promise<EjectAnswer> {
  switch (platform) {
    case 'linux':
      return ejectOnLinux(drive, run);
    case 'darwin':
      return ejectOnMacos(drive, run);
    case 'win32':
      return ejectOnWindows(drive, run);
    default:
      return {
        state: 'not-yet',
        reason: 'this system has no command for it that we know',
        todo: 'Eject it the way that this system offers.',
      };
  }
}
