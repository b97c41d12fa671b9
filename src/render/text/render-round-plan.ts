import { severityOf } from '../../core/findings/finding.ts';
import type { Load, Round } from '../../core/model/round.ts';
import type { RoundPlanReport } from '../../core/report/round-reports.ts';
import { rowsInWords } from '../../core/rounds/list/list-table.ts';
import { isToAsk } from '../../core/rounds/plan/make-round.ts';
import type { MinutesFrom } from '../../core/rounds/plan/usual-practice.ts';
import { clockOf, coursesOf, hoursInWords } from '../../core/rounds/schedule/courses.ts';
import { countInWords } from '../../core/text/words.ts';
import { inMargin, type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';
import { leavesOut, renderOverTheAir, renderRoomsForPerson, renderUnusable } from './render-planned-rooms.ts';

/** The round at a glance, then each load, the order of the sticks, and the rooms that need a person. */
export function renderRoundPlan(report: RoundPlanReport, look: Look): string {
  const { round, findings } = report;
  const others = round === undefined ? findings : findings.filter((found) => !leavesOut(found));
  const said = others.length === 0 ? '' : `${renderFindings(others, look)}\n`;
  if (round === undefined) return `${said}${renderAnswer(report, look)}`;
  return [
    `${renderGlance(report, round, look)}\n`,
    round.loads.length === 0 ? '' : `${renderLoads(round, look)}\n`,
    renderRoundOrder(round, look),
    renderOverTheAir(round.rooms, look),
    renderRoomsForPerson(round.rooms, look),
    renderUnusable(findings, look),
    said === '' ? '' : `${painter(look)('bold', 'About the list and the packages')}\n${said}`,
    renderAnswer(report, look),
    renderNext(report, round, look),
  ].join('');
}

function renderGlance(report: RoundPlanReport, round: Round, look: Look): string {
  const { counts } = report;
  const { loads, schedule, rooms } = round;
  const air = counts['over-the-air'];
  const ask = rooms.filter(isToAsk).length;
  const states = [
    `${counts.update} ${air + ask > 0 ? 'by stick' : 'to update'}`,
    ...(air > 0 ? [`${air} over the air`] : []),
    ...(ask > 0 ? [`${ask} to ask about`] : []),
    `${counts['up-to-date']} up to date`,
    `${counts.stopped} stopped`,
    `${counts['cannot-tell'] - ask} cannot be told`,
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
      ? ` (first come, first served: ${hoursInWords(firstComeMinutes)})`
      : '';
  const by = (from: MinutesFrom): string =>
    round.loads.flatMap(({ id }) => (minutesFrom.get(id) === from ? [id] : [])).join(', ');
  const sources = [
    [by('said'), 'as you said'],
    [by('family'), 'as the family file says, the longer time'],
    [by('memory'), 'usual, from memory; the maker has the last word'],
  ] as const;
  return [
    fact('Time', `${hoursInWords(totalMinutes)} from the first preparation to the last panel${saved}`, look),
    ...sources
      .filter(([loads]) => loads !== '')
      .map(([loads, words]) => fact('', `at the panels of ${loads}: ${words}`, look)),
  ].join('');
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

/** What it is and where it goes; panels, sizes and hashes stand on the cover, in `round prepare` and in --json. */
function renderLoad(load: Load, look: Look): string {
  const { package: named, mode, wipes } = load;
  const lines = [
    painter(look)(
      'bold',
      inMargin(tame(load.id), tame(`${named.name}, ${mode}${wipes ? ': WIPES THE PANEL' : ''}`), margin, look),
    ),
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
  const itself = counts['over-the-air'] > 0 ? ', updates itself' : '';
  const all = kept
    ? `every room is up to date${itself} or has its load; the sticks are still to be prepared`
    : `every room is up to date${itself} or would get its load; nothing was kept and no stick is prepared`;
  const what = round === undefined ? 'no room was planned' : reasons.join(', ') || all;
  const words = { ready: 'READY', 'not-ready': 'NOT READY', unproven: 'UNPROVEN' } as const;
  const colours = { ready: 'green', 'not-ready': 'red', unproven: 'magenta' } as const;
  const answer = paragraph(`${words[verdict]}: ${what}.`, 0, look);
  return `${answer.replace(words[verdict], paint(['bold', colours[verdict]], words[verdict]))}\n`;
}

function renderNext({ kept, place }: RoundPlanReport, { loads }: Round, look: Look): string {
  if (!kept || loads.length === 0) return '';
  const wide = { ...look, columns: 1_000 };
  return `\n${fact('Next', `stickwright round prepare --round ${quoted(place)}`, wide)}`;
}

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

/** A longer order is read from the cover sheet. */
const mostTurns = 300;

/** Stick by stick: when it is prepared with which load, and the rooms that it then goes to, in their order. */
function renderRoundOrder({ schedule, loads }: Round, look: Look): string {
  if (schedule.turns.length === 0) return '';
  const title = painter(look)('bold', 'Order of the sticks, in hours:minutes from the beginning');
  if (schedule.turns.length > mostTurns) {
    return `${title}\n${paragraph(`${schedule.turns.length} turns: see the cover sheet (stickwright round cards) or --json.`, 2, look)}\n\n`;
  }
  const wiping = new Set(loads.flatMap(({ id, wipes }) => (wipes ? [id] : [])));
  const lines = [...coursesOf(schedule.turns)].flatMap(([number, courses]) => [
    `  Stick ${tame(String(number))}`,
    ...courses.map(({ prepared, visits }) => {
      const load = `load ${tame(prepared.load)}${wiping.has(prepared.load) ? ', WIPES' : ''}`;
      const rooms = visits.map(({ room }) => room).join(', ');
      return inMargin(`  ${clockOf(prepared.startMinute)}`, tame(`${load}: ${rooms}`), orderMargin, look);
    }),
  ]);
  return `${title}\n${lines.join('\n')}\n\n`;
}

const orderMargin = 11;
