import type { StickEntry, StickFacts } from '../model/stick-facts.ts';

export interface SeenStick {
  readonly facts: StickFacts;
  readonly entries: readonly StickEntry[];
}

const identity: readonly (keyof StickFacts)[] = [
  'fileSystem',
  'partitionTable',
  'mediumBytes',
  'volumeBytes',
  'clusterBytes',
  'volumeSerial',
  'volumeLabel',
];

/** What tells the stick that is there now from the one that was planned for; undefined where it is the same, untouched. */
export function findDifference(planned: SeenStick, now: SeenStick): string | undefined {
  for (const name of identity) {
    const [before, after] = [planned.facts[name], now.facts[name]];
    if (before !== after) return `${inWords[name]} was ${String(before ?? 'none')} and is ${String(after ?? 'none')}`;
  }
  const [before, after] = [planned.facts.drive, now.facts.drive];
  if (before?.serial !== after?.serial || before?.device !== after?.device)
    return `the drive was ${driveInWords(before)} and is ${driveInWords(after)}`;
  const listed = (seen: SeenStick): ReadonlySet<string> =>
    new Set(seen.entries.map(({ path, kind, bytes }) => `${path}\n${kind}\n${bytes}`));
  const [then, here] = [listed(planned), listed(now)];
  const changed = [...here].find((entry) => !then.has(entry)) ?? [...then].find((entry) => !here.has(entry));
  return changed === undefined ? undefined : `${changed.split('\n', 1)[0]} has changed`;
}

const inWords: Partial<Record<keyof StickFacts, string>> = {
  fileSystem: 'its file system',
  partitionTable: 'its partition table',
  mediumBytes: 'its size in bytes',
  volumeBytes: "its volume's size in bytes",
  clusterBytes: 'its cluster size',
  volumeSerial: 'its volume serial',
  volumeLabel: 'its volume name',
};

const driveInWords = (drive: StickFacts['drive']): string =>
  drive === undefined ? 'unknown' : `${drive.device}, serial ${drive.serial ?? 'unknown'}`;
