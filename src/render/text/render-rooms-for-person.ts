import { groupBy } from '../../core/model/group-by.ts';
import type { RoundRoom } from '../../core/model/round.ts';
import { inMargin, type Look, painter, paragraph, tame } from './page.ts';

type Said = RoundRoom['findings'][number];

interface Case {
  readonly room: RoundRoom;
  readonly said: Said;
}

const order = { stop: 0, unproven: 1, caution: 2, note: 3 };
const words = { stop: 'STOP', unproven: 'OPEN', caution: 'MIND', note: 'fyi' };
const colours = { stop: 'red', unproven: 'magenta', caution: 'yellow', note: 'gray' } as const;

/** Rooms that are stopped or cannot be told, by what is in the way; and what to mind in the others. */
export function renderRoomsForPerson(rooms: readonly RoundRoom[], look: Look): string {
  const waiting = rooms.filter(({ state }) => state === 'stopped' || state === 'cannot-tell');
  const going = rooms.filter(({ state }) => state === 'update' || state === 'up-to-date');
  return [
    section('Rooms that need a person before a stick', waiting, look),
    section('Rooms with something to mind', going, look),
  ].join('');
}

function section(title: string, rooms: readonly RoundRoom[], look: Look): string {
  const cases = rooms.flatMap((room) => room.findings.map((said): Case => ({ room, said })));
  if (cases.length === 0) return '';
  const groups = [...groupBy(cases, ({ said }) => said.code).values()].toSorted(
    (a, b) => order[a[0]?.said.severity ?? 'note'] - order[b[0]?.said.severity ?? 'note'],
  );
  return `${painter(look)('bold', title)}\n${groups.map((group) => renderGroup(group, look)).join('')}\n`;
}

const margin = 8;

/** What is in the way once, then every room with its own facts, then what to do. */
function renderGroup(cases: readonly Case[], look: Look): string {
  const [first] = cases;
  if (first === undefined) return '';
  const { severity, code, title, why } = first.said;
  const head = inMargin(words[severity], `${title.charAt(0).toUpperCase()}${title.slice(1)}  [${code}]`, margin, look);
  const sameToDo = cases.every(({ said }) => said.todo === first.said.todo);
  const lines = cases.flatMap(({ room, said }) => [
    paragraph(tame(`${room.key}  (row ${room.row}, ${room.label}): ${said.seen}`), margin, look),
    ...(sameToDo ? [] : [paragraph(tame(`Do:  ${said.todo}`), margin + 2, look)]),
  ]);
  return [
    painter(look)(['bold', colours[severity]], head),
    ...lines,
    paragraph(`Why: ${why}`, margin, look),
    ...(sameToDo ? [paragraph(tame(`Do:  ${first.said.todo}`), margin, look)] : []),
    '',
  ].join('\n');
}
