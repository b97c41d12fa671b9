import { input, select } from '@inquirer/prompts';
import { findRoom, roomInWords } from '../../core/rounds/records/find-room.ts';
import type { SaidOutcome, VisitWish } from '../../core/rounds/records/make-visit.ts';
import type { RoomStatus } from '../../core/rounds/records/round-status.ts';
import { tame } from '../../render/text/page.ts';
import { type RoundDesk, readRound } from '../../workflows/round-desk.ts';
import { ask } from '../frame/interruption.ts';
import { aside } from '../frame/screen.ts';

export type AskedVisit = Omit<VisitWish, 'at' | 'who'>;

const line = async (question: Parameters<typeof input>[0]): Promise<string> =>
  (await ask((asking) => input(question, asking))).trim();

/** Asks at a terminal which room, how it went and with which stick. Undefined where nobody named a room. */
export async function askVisit(typed: string | undefined, desk: RoundDesk): Promise<AskedVisit | undefined> {
  const { status } = await readRound(desk);
  const asked = await askRoom(typed, status.rooms);
  if (asked === undefined) return undefined;
  const { room, scanned } = asked;
  aside(`${factsOf(room)}\n`);
  const outcome = await askOutcome(room);
  const isByStick = room.room.state !== 'over-the-air';
  const brought = isByStick && (outcome.kind === 'done' || outcome.kind === 'failed');
  const stick = brought ? await askStick(scanned, room) : undefined;
  const none = { label: undefined, serial: undefined, before: undefined, wiped: undefined, note: undefined };
  return { ...none, room: room.room.key, outcome, stick };
}

interface AskedRoom {
  readonly room: RoomStatus;
  /** The stick that the card names. */
  readonly scanned: string | undefined;
}

async function askRoom(typed: string | undefined, rooms: readonly RoomStatus[]): Promise<AskedRoom | undefined> {
  const known = (key: string, scanned?: string): AskedRoom | undefined => {
    const room = rooms.find((one) => one.room.key === key);
    return room === undefined ? undefined : { room, scanned };
  };
  for (let words = typed; ; words = undefined) {
    const said = words ?? (await line({ message: 'Room, asset tag, serial or scanned card (Enter: no more):' }));
    if (said === '') return undefined;
    const answer = findRoom(
      said,
      rooms.map(({ room }) => room),
      { label: undefined, serial: undefined },
    );
    if (answer.state === 'one') return known(answer.room.key, answer.stick);
    const choices = answer.state === 'several' ? answer.rooms : answer.near;
    if (choices.length === 0) {
      aside(`The round has no "${tame(said)}".\n`);
      continue;
    }
    const message = answer.state === 'several' ? 'Which one?' : `The round has no "${tame(said)}". Is it one of these?`;
    const none = { name: 'none of these', value: '' };
    const names = [...choices.map((room) => ({ name: tame(roomInWords(room)), value: room.key })), none];
    const picked = await ask((asking) => select({ message, choices: names, default: '' }, asking));
    const found = known(picked);
    if (found !== undefined) return found;
  }
}

function factsOf({ room, reached, next, sticks, tries }: RoomStatus): string {
  const build = `${reached ?? room.running ?? 'build not known'} → ${next?.build ?? room.target ?? 'nothing planned'}`;
  const stick = sticks.length === 0 ? '' : `, stick ${sticks.join(' or ')}`;
  const tried = tries.length === 0 ? '' : `, failed ${tries.length === 1 ? 'once' : `${tries.length} times`}`;
  return `  ${tame(roomInWords(room))}\n  ${tame(`${build}${stick}${tried}`)}`;
}

async function askOutcome(status: RoomStatus): Promise<SaidOutcome> {
  const { room, next } = status;
  const seen =
    room.state === 'over-the-air'
      ? [
          { name: 'it has updated itself and shows a build', value: 'done' as const },
          { name: 'not yet: it shows the build from before', value: 'not-yet' as const },
          { name: 'its own update failed', value: 'failed' as const },
        ]
      : [
          { name: 'done: it started again and shows a build', value: 'done' as const },
          { name: 'failed', value: 'failed' as const },
        ];
  const choices = [
    ...seen,
    { name: 'skipped: nothing was done', value: 'skipped' as const },
    { name: 'a wipe was approved', value: 'approved' as const },
  ];
  const kind = await ask((asking) => select({ message: 'How did it go?', choices }, asking));
  const required = (text: string): true | string => text.trim() !== '' || 'Please write what was seen.';
  const words = (message: string): Promise<string> => line({ message: tame(message), validate: required });
  switch (kind) {
    case 'done':
      return {
        kind,
        build: await words(`Build on the About page now (${next?.build ?? room.target ?? 'not planned'} is expected):`),
      };
    case 'not-yet':
      return { kind, build: undefined };
    case 'failed':
      return { kind, text: await words('The exact words on the screen:') };
    case 'skipped':
      return { kind, text: await words('Why:') };
    case 'approved':
      return { kind, by: await words('Approved by:') };
  }
}

async function askStick(scanned: string | undefined, { sticks }: RoomStatus): Promise<string | undefined> {
  const usual = scanned ?? (sticks.length === 1 ? sticks[0] : undefined);
  const message = `Code on the tag of the stick${usual === undefined ? ' (Enter: not known)' : ''}:`;
  const typed = await line({ message, ...(usual === undefined ? {} : { default: usual }) });
  return typed === '' ? undefined : typed;
}
