import type { Drive } from '../model/drive.ts';
import { roundedSize } from '../text/words.ts';
import type { StickAnswer } from './reports.ts';

/** The folder of its one mounted volume, on Windows its letter, else the drive itself. */
export function targetOf({ device, volumes, readOnly }: Drive): { target: string } | { reason: string } {
  if (readOnly === true) return { reason: 'it cannot be written' };
  const mounted = volumes.filter(({ mountPoints }) => mountPoints.length > 0);
  if (mounted.length > 1) return { reason: 'more than one of its volumes is mounted' };
  const target = (mounted[0]?.mountPoints[0] ?? device).replace(/^([a-z]:)\\$/i, '$1');
  // Windows takes a raw drive for formatting only.
  return target.startsWith('\\\\.\\') ? { reason: 'it has no drive letter' } : { target };
}

/**
 * Why somebody must mean this drive before it is taken for a stick: it may be pulled or is on the USB bus, not both as
 * far as the system tells, and nothing in use is on it. Such a drive is written in the folder that it is opened as, and
 * never as a whole. Undefined for a stick, for a drive of the computer itself, and where no size is there to be typed.
 */
export function doubtOf(drive: Drive): string | undefined {
  const { refusedBecause, usb, removable, holdsSystem, holds = [], bytes = 0 } = drive;
  if (holdsSystem || holds.length > 0 || bytes === 0) return undefined;
  return (usb === true) !== (removable === true) ? refusedBecause : undefined;
}

/** What a window may name of DRIVE, or why it names nothing. */
export function chosenOf(drive: Drive): { target: string } | { reason: string } {
  const { refusedBecause, device } = drive;
  const choice = targetOf(drive);
  if (refusedBecause === undefined) return choice;
  if (doubtOf(drive) === undefined) return { reason: refusedBecause };
  if ('target' in choice && choice.target === device)
    return { reason: `${refusedBecause}, and such a drive is used only where it is opened as a folder` };
  return choice;
}

/** Those that a plan was made for, as a question names them: each with what tells it from another stick. */
export const plannedOf = (sticks: readonly StickAnswer[]): string =>
  sticks
    .filter(({ state }) => state === 'planned')
    .map(({ target, facts }) => {
      const { drive } = facts ?? {};
      const bytes = facts?.mediumBytes ?? facts?.volumeBytes;
      const who = [drive?.maker, drive?.model].filter(Boolean).join(' ');
      const told = [
        ...(who === '' ? [] : [who]),
        ...(bytes === undefined ? [] : [roundedSize(bytes)]),
        ...(drive === undefined ? [] : [`serial ${drive.serial || 'unknown'}`]),
        ...(facts?.volumeLabel === undefined ? [] : [`volume ${facts.volumeLabel}`]),
      ];
      return told.length === 0 ? target : `${target} (${told.join(', ')})`;
    })
    .join(', ');
