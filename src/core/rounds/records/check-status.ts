import { type Finding, finding } from '../../findings/finding.ts';
import { recordInWords, saidInWords, timeInWords } from './record-in-words.ts';
import type { RoundStatus } from './round-status.ts';

/** What a person should know of a round beside its numbers. */
export function checkStatus(status: Omit<RoundStatus, 'findings'>): readonly Finding[] {
  const { rooms, sticks, repeats, strays } = status;
  const disagreements = rooms.flatMap(({ room, disagreement }) => {
    if (disagreement === undefined) return [];
    const [first, second] = disagreement.map((reading) => ({
      who: reading.visit.who,
      at: timeInWords(reading.visit.at),
      said: saidInWords(reading),
    }));
    return first === undefined || second === undefined
      ? []
      : [finding('record/disagreement', room.key, { first, second })];
  });
  const unclear = rooms.flatMap(({ room, progress, last }) =>
    progress === 'unclear' && last !== undefined
      ? [
          finding('record/unclear-room', room.key, {
            build: last.visit.buildAfter,
            target: room.target,
            who: last.visit.who,
          }),
        ]
      : [],
  );
  const repeated = repeats.map(({ by, name, failures, tries, rooms: where }) =>
    finding('record/fails-repeatedly', name, { by, failures, tries, rooms: where }),
  );
  const gone = strays.map((record) =>
    finding('record/room-gone', 'room' in record ? record.room : record.id, {
      who: record.who,
      at: timeInWords(record.at),
      what: recordInWords(record),
    }),
  );
  const waiting = new Set(rooms.flatMap(({ next }) => (next === undefined ? [] : [next.load.id])));
  const doubted = sticks.flatMap(({ code, state, load, unproven }) =>
    state === 'ready' && load !== undefined && waiting.has(load.id) && unproven.length > 0
      ? [finding('record/stick-unproven', code, { load: load.id, codes: unproven })]
      : [],
  );
  return [...doubted, ...disagreements, ...unclear, ...repeated, ...gone];
}
