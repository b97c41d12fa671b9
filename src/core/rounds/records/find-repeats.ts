import type { Load, Round } from '../../model/round.ts';
import type { Visit } from '../../model/round-record.ts';
import { groupBy } from '../../text/words.ts';
import { isOverTheAir, type VisitReading } from './read-visit.ts';
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
      .filter(({ result, visit }) => result !== 'skipped' && !isOverTheAir(visit))
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

/** `Sedge classroom panels: series 5B, generation SECOND, factory K2`. */
export const variantInWords = ({ familyTitle, variant }: Load): string =>
  `${familyTitle}: ${Object.entries(variant)
    .map(([part, value]) => `${part} ${value}`)
    .join(', ')}`;

const blank = '(please fill in)';

/**
 * What a maker's support needs to answer at the first time of asking: plain text, ready to copy into a form or a mail.
 */
export function messageToMaker(status: RoomStatus, load: Load | undefined): string {
  const { room, tries, reached } = status;
  const isByStick = room.state !== 'over-the-air';
  const times = tries.length === 1 ? 'once' : tries.length === 2 ? 'twice' : `${tries.length} times`;
  const before = reached ?? tries.at(-1)?.visit.buildBefore ?? room.running;
  return [
    `Firmware update ${tries.length === 0 ? 'of' : `failed ${times} on`} ${room.label}`,
    '',
    'Panel',
    `  label on the back   ${room.label}`,
    `  serial              ${room.serial ?? blank}`,
    `  our reference       ${[room.asset, room.key].filter((one) => one !== null).join(', ')}`,
    `  build on it         ${before ?? blank}`,
    `  build wanted        ${status.next?.build ?? room.target ?? blank}`,
    '',
    ...(isByStick ? packageLines(status, load) : ['Way', '  its own update over the network', '']),
    'What happened',
    ...airLines(status),
    ...(tries.length === 0 ? [`  ${blank}`] : tries.flatMap(tryLines)),
    '',
    'Photos with this message',
    '  1 the plate on the back, 2 the About page, 3 the screen with the exact words',
    '',
    'Questions',
    ...questions.slice(isByStick ? 0 : 1).map((question, at) => `  ${at + 1} ${question}`),
  ].join('\n');
}

const questions = [
  'Is this package right for this label, and may it follow the build on it?',
  'What does the message mean, and what shall we do next?',
  'If you advise a recovery: which document describes it for this panel, and what does it erase?',
];

/** What its own update said before anybody came with a stick. */
const airLines = ({ room, airFailures }: RoomStatus): readonly string[] =>
  room.state === 'over-the-air'
    ? []
    : airFailures.map(
        (reading) =>
          `  Before: its own update failed, ${reading.visit.at}${wordsOf(reading)
            .map((text) => `: "${text}"`)
            .join('')}`,
      );

function packageLines({ room, tries }: RoomStatus, load: Load | undefined): readonly string[] {
  const pack = tries.at(-1)?.visit.package ?? load?.package;
  return [
    'Package',
    `  file                ${pack?.name ?? blank}`,
    `  SHA-256             ${pack?.sha256 ?? blank}`,
    ...(load === undefined || load.package.sha256 !== pack?.sha256
      ? []
      : [`  bytes               ${load.package.bytes}`]),
    `  way                 ${modeInWords[tries.at(-1)?.visit.mode ?? load?.mode ?? room.mode]}`,
    `  port                ${load?.panel.port ?? blank}`,
    '',
  ];
}

function tryLines(reading: VisitReading, index: number): readonly string[] {
  const { at, who } = reading.visit;
  const words = wordsOf(reading).join('; ');
  const lines = words === '' ? [blank] : words.split('\n');
  return [`  ${index + 1}. ${at}, ${broughtInWords(reading.visit)}, ${who}`, ...lines.map((line) => `     "${line}"`)];
}

/** What somebody came with. */
export const broughtInWords = (visit: Visit): string =>
  isOverTheAir(visit) ? 'its own update' : visit.stick === null ? 'stick not noted' : `stick ${visit.stick}`;

const modeInWords: Readonly<Record<Load['mode'], string>> = {
  'in-os': 'local update from the running system',
  recovery: 'recovery (wipes)',
};
