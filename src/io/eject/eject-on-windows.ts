import type { Drive } from '../drives/drives.ts';
import type { EjectAnswer, RunProgram } from './eject-answer.ts';
import { explainRefusal } from './explain-refusal.ts';

/** A drive letter and nothing else goes into the script. */
const letterForm = /^[A-Z]:$/i;

/**
 * Write-VolumeCache (Storage module) flushes; the shell's own "Eject" does what the icon in the task bar does. It answers
 * nothing, so the letter is looked for afterwards. Not run on a real Windows.
 */
export async function ejectOnWindows(drive: Drive, run: RunProgram): Promise<EjectAnswer> {
  const letters = drive.volumes.map(({ device }) => device.slice(0, 2)).filter((letter) => letterForm.test(letter));
  try {
    for (const letter of letters) {
      const script = [
        `$ErrorActionPreference = 'Stop'`,
        `Write-VolumeCache -DriveLetter ${letter.slice(0, 1)}`,
        `(New-Object -ComObject Shell.Application).Namespace(17).ParseName('${letter}').InvokeVerb('Eject')`,
        'Start-Sleep -Seconds 3',
        `if (Test-Path '${letter}\\') { throw 'a program still holds ${letter}' }`,
      ].join('; ');
      await run('powershell.exe', ['-NoProfile', '-NonInteractive', '-Command', script]);
    }
    return { state: 'pull-it-now', poweredOff: letters.length > 0 };
  } catch (error) {
    return explainRefusal(error);
  }
}
