import type { DriveSource } from './drive-source.ts';

/** The adapter of the system we run on; undefined where there is none. Loaded only when asked for. */
export async function findDriveSource(): Promise<DriveSource | undefined> {
  switch (process.platform) {
    case 'linux':
      return (await import('./linux-drives.ts')).linuxDrives;
    case 'darwin':
      return (await import('./macos-drives.ts')).macosDrives;
    case 'win32':
      return (await import('./windows-drives.ts')).windowsDrives;
    default:
      return undefined;
  }
}
