import { severityOf } from '../../core/findings/finding.ts';
import type { Load, Round, RoundRoom, Turn } from '../../core/model/round.ts';
import type { RoundPlanReport } from '../../core/report/round-reports.ts';
import { rowsInWords } from '../../core/rounds/list/list-table.ts';
import type { MinutesFrom } from '../../core/rounds/plan/usual-practice.ts';
import { countInWords, groupBy } from '../../core/text/words.ts';
import { exactSize, inMargin, type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';

/** The round at a glance, then each load, the order of the sticks, and the rooms that need a person. */
export function renderRoundPlan(report: RoundPlanReport, look: Look): string {
  const { round, findings } = report;
  const said = findings.length === 0 ? '' : `${renderFindings(findings, look)}\n`;
  if (round === undefined) return `${said}${renderAnswer(report, look)}`;
  return [
    `${renderGlance(report, round, look)}\n`,
    round.loads.length === 0 ? '' : `${renderLoads(round, look)}\n`,
    renderRoundOrder(round, look),
    renderRoomsForPerson(round.rooms, look),
    said === '' ? '' : `${painter(look)('bold', 'About the list and the packages')}\n${said}`,
    renderAnswer(report, look),
    renderNext(report, round, look),
  ].join('');
}

function renderGlance(report: RoundPlanReport, round: Round, look: Look): string {
  const { counts } = report;
  const { loads, schedule } = round;
  const states = [
    `${counts.update} to update`,
    `${counts['up-to-date']} up to date`,
    `${counts.stopped} stopped`,
    `${counts['cannot-tell']} cannot be told`,
  ];
  const preparations = schedule.turns.filter(({ room }) => room === null).length;
  const fewest = `${countInWords(loads.length, 'load')}, so ${countInWords(loads.length, 'stick')} at the fewest`;
  const sticks =
    preparations === loads.length
      ? `${fewest}, each prepared once`
      : `${countInWords(schedule.sticks, 'stick')} for ${countInWords(loads.length, 'load')}: ${preparations} preparations`;
  return [
    fact('Round', `${round.list.path}: ${rowsInWords(round.rooms.length, round.list.unused)}`, look),
    fact('', states.join(', '), look),
    loads.length === 0 ? '' : fact('Sticks', sticks, look),
    loads.length === 0 ? '' : renderTime(report, round, look),
    fact('Kept', report.kept ? report.place : 'nothing: a dry run', look),
  ].join('');
}

function renderTime({ minutesFrom, firstComeMinutes }: RoundPlanReport, round: Round, look: Look): string {
  const { totalMinutes } = round.schedule;
  const saved =
    firstComeMinutes !== undefined && firstComeMinutes > totalMinutes
      ? ` (first come, first served: ${hours(firstComeMinutes)})`
      : '';
  const by = (from: MinutesFrom): string =>
    round.loads.flatMap(({ id }) => (minutesFrom.get(id) === from ? [id] : [])).join(', ');
  const sources = [
    [by('said'), 'as you said'],
    [by('family'), 'as the family file says, the longer time'],
    [by('memory'), 'usual, from memory; the maker has the last word'],
  ] as const;
  return [
    fact('Time', `${hours(totalMinutes)} from the first preparation to the last panel${saved}`, look),
    ...sources
      .filter(([loads]) => loads !== '')
      .map(([loads, words]) => fact('', `at the panels of ${loads}: ${words}`, look)),
  ].join('');
}

/** `2 h 05 min`. */
export function hours(minutes: number): string {
  const whole = Math.ceil(minutes);
  return whole < 60 ? `${whole} min` : `${Math.floor(whole / 60)} h ${String(whole % 60).padStart(2, '0')} min`;
}

function renderLoads({ loads }: Round, look: Look): string {
  const paint = painter(look);
  const group = (title: string, some: readonly Load[]): string =>
    some.length === 0 ? '' : `${title}\n${some.map((load) => renderLoad(load, look)).join('')}`;
  const keeping = loads.filter(({ wipes }) => !wipes);
  const wiping = loads.filter(({ wipes }) => wipes);
  return [
    group(paint('bold', 'Loads: one stick each carries one of these, and nothing else'), keeping),
    keeping.length > 0 && wiping.length > 0 ? '\n' : '',
    group(paint(['bold', 'red'], 'Loads that WIPE the panel: apart from all others, after them'), wiping),
  ].join('');
}

const margin = 6;

function renderLoad(load: Load, look: Look): string {
  const {
    package: { name, bytes, build },
    mode,
    wipes,
    familyTitle,
    variant,
  } = load;
  const parts = Object.entries(variant).map(([part, value]) => `${part} ${value}`);
  const lines = [
    painter(look)('bold', inMargin(tame(load.id), tame(name), margin, look)),
    paragraph(tame(`build ${build}, ${mode}${wipes ? ': WIPES THE PANEL' : ''}; ${exactSize(bytes)}`), margin, look),
    paragraph(tame(`${familyTitle}: ${parts.join(', ')}`), margin, look),
    paragraph(tame(`${countInWords(load.rooms.length, 'room')}: ${load.rooms.join(', ')}`), margin, look),
  ];
  return `${lines.join('\n')}\n`;
}

function renderAnswer({ verdict, counts, round, findings, kept }: RoundPlanReport, look: Look): string {
  const paint = painter(look);
  const unproven = (round?.rooms ?? []).filter(
    (room) => room.state === 'update' && room.findings.some(({ severity }) => severity === 'unproven'),
  ).length;
  const open = findings.filter((found) => ['stop', 'unproven'].includes(severityOf(found))).length;
  const reasons = [
    counts.stopped > 0 ? `${countInWords(counts.stopped, 'room')} stopped` : '',
    counts['cannot-tell'] > 0 ? `${countInWords(counts['cannot-tell'], 'room')} cannot be told` : '',
    unproven > 0 ? `${countInWords(unproven, 'room')} with something open` : '',
    open > 0 ? `${countInWords(open, 'thing')} to mend in the list or on the shelf` : '',
  ].filter((reason) => reason !== '');
  const all = kept
    ? 'every room is up to date or has its load; the sticks are still to be prepared'
    : 'every room is up to date or would get its load; nothing was kept and no stick is prepared';
  const what = round === undefined ? 'no room was planned' : reasons.join(', ') || all;
  const words = { ready: 'READY', 'not-ready': 'NOT READY', unproven: 'UNPROVEN' } as const;
  const colours = { ready: 'green', 'not-ready': 'red', unproven: 'magenta' } as const;
  return `${paint(['bold', colours[verdict]], words[verdict])}: ${what}.\n`;
}

function renderNext({ kept, place }: RoundPlanReport, { loads }: Round, look: Look): string {
  if (!kept || loads.length === 0) return '';
  const wide = { ...look, columns: 1_000 };
  return `\n${fact('Next', `stickwright round prepare --round ${quoted(place)}`, wide)}`;
}

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

type Said = RoundRoom['findings'][number];

interface Case {
  readonly room: RoundRoom;
  readonly said: Said;
}

const order = { stop: 0, unproven: 1, caution: 2, note: 3 };
const words = { stop: 'STOP', unproven: 'OPEN', caution: 'MIND', note: 'fyi' };
const colours = { stop: 'red', unproven: 'magenta', caution: 'yellow', note: 'gray' } as const;

/** Rooms that are stopped or cannot be told, by what is in the way; and what to mind in the others. */
function renderRoomsForPerson(rooms: readonly RoundRoom[], look: Look): string {
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
  const lines = cases.flatMap(({ room, said }) => [
    paragraph(tame(`${room.key}  (row ${room.row}, ${room.label}): ${said.seen}`), personMargin, look),
    ...(sameToDo ? [] : [paragraph(tame(`Do:  ${said.todo}`), personMargin + 2, look)]),
  ]);
  return [
    painter(look)(['bold', colours[severity]], head),
    ...lines,
    paragraph(`Why: ${why}`, personMargin, look),
    ...(sameToDo ? [paragraph(tame(`Do:  ${first.said.todo}`), personMargin, look)] : []),
    '',
  ].join('\n');
}

/** A longer order is read from the cover sheet. */
const mostTurns = 300;

/** Stick by stick what is done with it: minutes from the beginning, what it carries, and which rooms it goes to. */
function renderRoundOrder({ schedule, loads }: Round, look: Look): string {
  if (schedule.turns.length === 0) return '';
  const title = painter(look)('bold', 'Order of the sticks, in hours:minutes from the beginning');
  if (schedule.turns.length > mostTurns) {
    return `${title}\n${paragraph(`${schedule.turns.length} turns: see the cover sheet (stickwright round cards) or --json.`, 2, look)}\n\n`;
  }
  const wiping = new Set(loads.flatMap(({ id, wipes }) => (wipes ? [id] : [])));
  const numbers = [...new Set(schedule.turns.map(({ stick }) => stick))].toSorted((a, b) => a - b);
  const lines = numbers.flatMap((number) => [
    `  Stick ${tame(String(number))}`,
    ...schedule.turns
      .filter(({ stick }) => stick === number)
      .map((turn) => paragraph(`${clock(turn.startMinute)}  ${inWords(turn, wiping)}`, 4, look)),
  ]);
  return `${title}\n${lines.join('\n')}\n\n`;
}

function inWords({ load, room }: Turn, wiping: ReadonlySet<string>): string {
  if (room === null) return `prepare load ${tame(load)}${wiping.has(load) ? ': WIPES' : ''}`;
  return tame(`${load} to ${room}`);
}

const clock = (minute: number): string =>
  `${Math.floor(minute / 60)}:${String(Math.floor(minute % 60)).padStart(2, '0')}`;
