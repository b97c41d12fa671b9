import { type Finding, severityOf, textsOf } from '../../core/findings/finding.ts';
import type { RoundRoom } from '../../core/model/round.ts';
import { countInWords, groupBy } from '../../core/text/words.ts';
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
  const going = rooms.filter((room) => !waiting.includes(room));
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

const personMargin = 8;

/** What is in the way once, then every room with its own facts, then what to do. */
function renderGroup(cases: readonly Case[], look: Look): string {
  const [first] = cases;
  if (first === undefined) return '';
  const { severity, code, title, why } = first.said;
  const head = inMargin(
    words[severity],
    `${title.charAt(0).toUpperCase()}${title.slice(1)}  [${code}]`,
    personMargin,
    look,
  );
  const sameToDo = cases.every(({ said }) => said.todo === first.said.todo);
  const placeOf = ({ room }: Case): string => `${room.key}  (row ${room.row}, ${room.label})`;
  // The same words of every one, but for its own name: they are said once.
  const alike = sameToDo && new Set(cases.map(({ said }) => said.seen.replace(said.subject, ''))).size === 1;
  const others = cases.slice(1).map(placeOf).join('; ');
  const told = alike ? [first] : cases;
  const lines = told.flatMap((one) => [
    paragraph(tame(`${placeOf(one)}: ${one.said.seen}`), personMargin, look),
    ...(sameToDo ? [] : [paragraph(tame(`Do:  ${one.said.todo}`), personMargin + 2, look)]),
  ]);
  if (alike && others !== '') {
    const many = countInWords(cases.length - 1, 'other');
    lines.push(paragraph(tame(`The same of ${many}: ${others}.`), personMargin, look));
  }
  return [
    painter(look)(['bold', colours[severity]], head),
    ...lines,
    paragraph(`Why: ${why}`, personMargin, look),
    ...(sameToDo ? [paragraph(tame(`Do:  ${first.said.todo}`), personMargin, look)] : []),
    '',
  ].join('\n');
}

/** Whether rows are left out of the round for it. */
export const leavesOut = (found: Finding): boolean =>
  found.code.startsWith('room/') && severityOf(found) === 'unproven' && found.code !== 'room/running-mangled';

/** Row after row with its cure; what it means for the round is the same for all, and said once. */
export function renderUnusable(findings: readonly Finding[], look: Look): string {
  const rows = findings.filter(leavesOut);
  if (rows.length === 0) return '';
  const each = rows.map((found) => {
    const { seen, todo } = textsOf(found);
    return inMargin('', `${seen}  [${found.code}]\n  Do:  ${todo}`, personMargin, look);
  });
  const title = painter(look)('bold', 'Rows that cannot be used, and are left out of the round');
  const why = inMargin(
    '',
    'Why: Nobody would go to these panels, and nothing is planned for them.',
    personMargin,
    look,
  );
  return `${title}\n${each.map((text) => `  OPEN${text.slice(6)}`).join('\n')}\n${why}\n\n`;
}

/** Rooms that update themselves: why, what to switch on, when to look again. Equal ones once. */
export function renderOverTheAir(rooms: readonly RoundRoom[], look: Look): string {
  const some = rooms.filter(({ state }) => state === 'over-the-air');
  if (some.length === 0) return '';
  const groups = groupBy(some, ({ way }) => JSON.stringify([way?.reason, way?.todo]));
  const lines = [...groups.values()].flatMap((same) => [
    painter(look)('bold', paragraph(tame(same.map(({ key }) => key).join(', ')), 2, look)),
    paragraph(tame(same[0]?.way?.reason ?? ''), personMargin, look),
    ...(same[0]?.way?.todo ?? []).map((step, at) => inMargin(`      ${at + 1}.`, tame(step), personMargin + 3, look)),
  ]);
  return `${painter(look)('bold', 'Over the air: no stick, look later')}\n${lines.join('\n')}\n\n`;
}
