import type { DriveFacts } from '../../core/model/stick-facts.ts';

/**
 * Why a drive is never written as a whole; undefined for a removable drive on the USB bus that HOLDS nothing in use. What the system
 * does not tell counts against the drive: the removable flag alone lies both ways (common practice).
 */
export function refuseDrive(drive: DriveFacts, holds: readonly string[] = []): string | undefined {
  if (holds.length > 0) return `it holds ${holds.join(', ')}`;
  if (drive.holdsSystem) return 'it holds the running system';
  if (drive.usb === false) return 'it is not on the USB bus';
  if (drive.usb === undefined) return 'the operating system does not say that it is on the USB bus';
  if (drive.removable === false) return 'it is a fixed drive';
  if (drive.removable === undefined) return 'the operating system does not say that it is removable';
  return drive.bytes === 0 ? 'there is no medium in it' : undefined;
}
