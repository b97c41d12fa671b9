import type { DriveFacts, StickEntry, StickFacts } from '../model/stick-facts.ts';

export interface SeenStick {
  readonly facts: StickFacts;
  readonly entries: readonly StickEntry[];
}

const identity = [
  'fileSystem',
  'partitionTable',
  'mediumBytes',
  'volumeBytes',
  'clusterBytes',
  'volumeSerial',
  'volumeLabel',
] as const satisfies readonly (keyof StickFacts)[];

/**
 * What tells the stick that is there now from the one that was planned for; undefined where it is the same, untouched.
 * Only what both looks could tell is compared: a system that did not answer this time has said nothing about the stick.
 */
export function findDifference(planned: SeenStick, now: SeenStick): string | undefined {
  for (const name of identity) {
    if (!isKnown(name, planned.facts, now.facts)) continue;
    const [before, after] = [planned.facts[name], now.facts[name]];
    if (before !== after) return `${inWords[name]} was ${String(before ?? 'none')} and is ${String(after ?? 'none')}`;
  }
  const [before, after] = [planned.facts.drive, now.facts.drive];
  if (before !== undefined && after !== undefined && isOtherDrive(before, after))
    return `the drive was ${driveInWords(before)} and is ${driveInWords(after)}`;
  const listed = (seen: SeenStick): ReadonlySet<string> =>
    new Set(seen.entries.map(({ path, kind, bytes }) => `${path}\n${kind}\n${bytes}`));
  const [then, here] = [listed(planned), listed(now)];
  const changed = [...here].find((entry) => !then.has(entry)) ?? [...then].find((entry) => !here.has(entry));
  return changed === undefined ? undefined : `${changed.split('\n', 1)[0]} has changed`;
}

/**
 * Another volume, or none, is mounted where the folder of BEFORE was: the stick is gone, and what is seen now is below
 * it.
 */
export const isMountGone = (before: StickFacts, now: StickFacts): boolean =>
  before.mountPoint !== undefined && now.mountPoint !== undefined && before.mountPoint !== now.mountPoint;

/** A boot sector says by silence that there is no name or serial; an operating system's silence says nothing. */
function isKnown(name: (typeof identity)[number], before: StickFacts, now: StickFacts): boolean {
  const bothRead = before.fileSystemFrom === 'boot-sector' && now.fileSystemFrom === 'boot-sector';
  if (bothRead && name !== 'mediumBytes' && name !== 'partitionTable') return true;
  const says = (facts: StickFacts): boolean => !['unknown', 'other', undefined].includes(facts[name]?.toString());
  return says(before) && says(now);
}

const isOtherDrive = (before: DriveFacts, after: DriveFacts): boolean =>
  before.device !== after.device ||
  (before.serial !== undefined && after.serial !== undefined && before.serial !== after.serial);

const inWords: Record<(typeof identity)[number], string> = {
  fileSystem: 'its file system',
  partitionTable: 'its partition table',
  mediumBytes: 'its size in bytes',
  volumeBytes: "its volume's size in bytes",
  clusterBytes: 'its cluster size',
  volumeSerial: 'its volume serial',
  volumeLabel: 'its volume name',
};

const driveInWords = ({ device, serial }: DriveFacts): string => `${device}, serial ${serial ?? 'unknown'}`;
