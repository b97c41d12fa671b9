import type { Load } from '../../model/round.ts';
import { wordsOf } from './find-repeats.ts';
import type { VisitReading } from './read-visit.ts';
import { timeInWords } from './record-in-words.ts';
import type { RoomStatus } from './round-status.ts';

const blank = '(please fill in)';

/** What a maker's support needs to answer at the first time of asking: plain text, ready to copy into a form or a mail. */
export function messageToMaker(status: RoomStatus, load: Load | undefined): string {
  const { room, tries, reached } = status;
  const times = tries.length === 1 ? 'once' : tries.length === 2 ? 'twice' : `${tries.length} times`;
  const before = reached ?? tries.at(-1)?.visit.buildBefore ?? room.running;
  const pack = tries.at(-1)?.visit.package ?? load?.package;
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
    'Package',
    `  file                ${pack?.name ?? blank}`,
    `  SHA-256             ${pack?.sha256 ?? blank}`,
    ...(load === undefined || load.package.sha256 !== pack?.sha256
      ? []
      : [`  bytes               ${load.package.bytes}`]),
    `  way                 ${modeInWords(tries.at(-1)?.visit.mode ?? load?.mode ?? room.mode)}`,
    `  port                ${load?.panel.port ?? blank}`,
    '',
    'What happened',
    ...(tries.length === 0 ? [`  ${blank}`] : tries.flatMap(tryLines)),
    '',
    'Photos with this message',
    '  1 the plate on the back, 2 the About page, 3 the screen with the exact words',
    '',
    'Questions',
    '  1 Is this package right for this label, and may it follow the build on it?',
    '  2 What does the message mean, and what shall we do next?',
    '  3 If you advise a recovery: which document describes it for this panel, and what does it erase?',
  ].join('\n');
}

function tryLines(reading: VisitReading, index: number): readonly string[] {
  const { at, stick, who } = reading.visit;
  const words = wordsOf(reading).join('; ');
  const lines = words === '' ? [blank] : words.split('\n');
  return [
    `  ${index + 1}. ${timeInWords(at)}, ${stick === null ? 'stick not noted' : `stick ${stick}`}, ${who}`,
    ...lines.map((line) => `     "${line}"`),
  ];
}

const modeInWords = (mode: Load['mode']): string =>
  mode === 'in-os' ? 'local update from the running system' : 'recovery (wipes)';
