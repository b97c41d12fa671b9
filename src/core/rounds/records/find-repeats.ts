import { groupBy } from '../../model/group-by.ts';
import type { Load, Round } from '../../model/round.ts';
import type { Visit } from '../../model/round-record.ts';
import type { VisitReading } from './read-visit.ts';
import type { Repeat, RoomStatus } from './round-status.ts';

interface Try {
  readonly room: string;
  readonly reading: VisitReading;
  readonly load: Load | undefined;
}

/** What failed more than once: a variant, a stick, a package; what failed most comes first. */
export function findRepeats(round: Round, rooms: readonly RoomStatus[]): readonly Repeat[] {
  const tries = rooms.flatMap(({ room, visits }) =>
    visits
      .filter(({ result }) => result !== 'skipped')
      .map((reading): Try => ({ room: room.key, reading, load: loadOf(reading.visit, room.key, round) })),
  );
  const repeats = [
    ...groupsOf('variant', tries, ({ load }) => (load === undefined ? undefined : variantInWords(load))),
    ...groupsOf('package', tries, ({ reading }) => reading.visit.package?.name),
    ...groupsOf('stick', tries, ({ reading }) => reading.visit.stick ?? undefined),
  ];
  return repeats.filter(({ failures }) => failures > 1).toSorted((a, b) => b.failures - a.failures);
}

function groupsOf(
  by: Repeat['by'],
  tries: readonly Try[],
  nameOf: (one: Try) => string | undefined,
): readonly Repeat[] {
  return [...groupBy(tries, nameOf)].flatMap(([name, all]) => {
    if (name === undefined) return [];
    const failed = all.filter(({ reading }) => reading.result === 'failed');
    return {
      by,
      name,
      failures: failed.length,
      tries: all.length,
      rooms: [...new Set(failed.map(({ room }) => room))],
      texts: [...new Set(failed.flatMap(({ reading }) => wordsOf(reading)))],
    };
  });
}

/** The exact words on the screen; or that the old build still shows. */
export function wordsOf({ visit, because }: VisitReading): readonly string[] {
  if (visit.text !== null) return [visit.text];
  return because === 'unchanged' ? [`still shows ${visit.buildAfter}`] : [];
}

/** The load that a visit brought: by its package, else the room's last. */
function loadOf(visit: Visit, room: string, { loads }: Round): Load | undefined {
  const mine = loads.filter(({ rooms }) => rooms.includes(room));
  const isBrought = (load: Load): boolean => load.package.sha256 === visit.package?.sha256 && load.mode === visit.mode;
  return mine.find(isBrought) ?? loads.find(isBrought) ?? mine.at(-1);
}

/** `Slate classroom panels: series C4, generation 2, factory K2`. */
export const variantInWords = ({ familyTitle, variant }: Load): string =>
  `${familyTitle}: ${Object.entries(variant)
    .map(([part, value]) => `${part} ${value}`)
    .join(', ')}`;
