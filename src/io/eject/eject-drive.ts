import { ToolError } from '../../core/model/tool-error.ts';
import type { Drive } from '../drives/drives.ts';
import { identifyStick } from '../volume/identify-stick.ts';
import { lockStick } from '../volume/lock-stick.ts';
import type { EjectAnswer, RunProgram } from './eject-answer.ts';
import { ejectOnLinux } from './eject-on-linux.ts';
import { ejectOnMacos } from './eject-on-macos.ts';
import { ejectOnWindows } from './eject-on-windows.ts';

/**
 * Has the system write all it holds, unmounts every volume of DRIVE (never by force) and, where there is a command, cuts its power.
 * Not while another run uses the stick.
 */
export async function ejectDrive(drive: Drive, run: RunProgram, platform: NodeJS.Platform): Promise<EjectAnswer> {
  const { device } = drive;
  const identity = await identifyStick('device', device, undefined, true, device).catch(() => `path ${device}`);
  try {
    const unlock = await lockStick(identity, device);
    return await eject(drive, run, platform).finally(unlock);
  } catch (error) {
    if (!(error instanceof ToolError)) throw error;
    return { state: 'not-yet', reason: error.message, todo: error.todo };
  }
}

async function eject(drive: Drive, run: RunProgram, platform: NodeJS.Platform): Promise<EjectAnswer> {
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
