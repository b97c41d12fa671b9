import { severityOf } from '../../core/findings/finding.ts';
import { countInWords } from '../../core/findings/words.ts';
import type { Load, Round } from '../../core/model/round.ts';
import type { RoundPlanReport } from '../../core/report/round-plan-report.ts';
import type { MinutesFrom } from '../../core/rounds/plan/estimate-minutes.ts';
import { exactSize, inMargin, type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';
import { renderRoomsForPerson } from './render-rooms-for-person.ts';
import { renderRoundOrder } from './render-round-order.ts';

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
    fact('Round', `${round.list.path}: ${countInWords(round.rooms.length, 'room')}`, look),
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

function renderAnswer({ verdict, counts, round, findings }: RoundPlanReport, look: Look): string {
  const paint = painter(look);
  const open = findings.filter((found) => ['stop', 'unproven'].includes(severityOf(found))).length;
  const reasons = [
    counts.stopped > 0 ? `${countInWords(counts.stopped, 'room')} stopped` : '',
    counts['cannot-tell'] > 0 ? `${countInWords(counts['cannot-tell'], 'room')} cannot be told` : '',
    open > 0 ? `${countInWords(open, 'thing')} to mend in the list or on the shelf` : '',
  ].filter((reason) => reason !== '');
  const what =
    round === undefined ? 'no room was planned' : reasons.join(', ') || 'every room is up to date or has its stick';
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
