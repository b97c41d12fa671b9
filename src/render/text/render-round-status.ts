import type { RoundExportReport, RoundStatusReport } from '../../core/report/round-reports.ts';
import { progressWords } from '../../core/rounds/filled/export-changes.ts';
import { rowsInWords } from '../../core/rounds/list/list-table.ts';
import { wordsOf } from '../../core/rounds/records/find-repeats.ts';
import {
  type Repeat,
  type RoomProgress,
  type RoomStatus,
  type RoundStatus,
  roomProgress,
  type StickState,
  type StickStatus,
} from '../../core/rounds/records/round-status.ts';
import { countInWords, groupBy, listInWords } from '../../core/text/words.ts';
import { inMargin, type Look, padded, painter, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';

/** The round at a glance, then what needs a person, what is left, the sticks, and what fails more than once. */
export function renderRoundStatus(report: RoundStatusReport, look: Look): string {
  const { status, findings, place } = report;
  // Repeats have a section of their own.
  const said = findings.filter(({ code }) => code !== 'record/fails-repeatedly');
  return [
    renderGlance(status, place, look),
    renderRooms('Failed', status, ['failed'], look),
    renderRooms('Not clear', status, ['unclear'], look),
    renderRooms('Under way: a build on the way is reached', status, ['under-way'], look),
    renderRooms('Skipped', status, ['skipped'], look),
    renderRooms('Wiped', status, [], look, ({ wiped }) => wiped),
    renderLeft('Open, the stick is prepared', status, 'prepared', look),
    renderLeft('Open', status, 'open', look),
    renderOverTheAir(status, look),
    renderHeld(status, look),
    renderSticks(status.sticks, look),
    renderRepeats(status.repeats, look),
    said.length === 0 ? '' : `\n${renderFindings(said, look)}`,
    `\n${renderAnswer(report, look)}`,
  ].join('');
}

function renderGlance({ round, counts, rooms, records }: RoundStatus, place: string, look: Look): string {
  const parts = roomProgress.filter((one) => counts[one] > 0).map((one) => `${counts[one]} ${progressWords[one]}`);
  const wiped = rooms.filter((room) => room.wiped).length;
  const people = new Set(records.map(({ who }) => who));
  const last = records.at(-1);
  const told =
    last === undefined
      ? 'none yet'
      : `${countInWords(records.length, 'line')} of ${countInWords(people.size, 'person', 'people')}, the last ${last.at}`;
  return [
    fact('Round', `${place}, planned ${round.plannedAt}`, look),
    fact('List', rowsInWords(rooms.length, round.list.unused), look),
    fact('Rooms', `${rooms.length}: ${parts.join(', ')}${wiped > 0 ? `; ${wiped} wiped` : ''}`, look),
    fact('Records', told, look),
  ].join('');
}

const widest = 26;

function renderRooms(
  title: string,
  { rooms }: RoundStatus,
  progress: readonly RoomProgress[],
  look: Look,
  also: (status: RoomStatus) => boolean = () => false,
): string {
  const some = rooms.filter((room) => progress.includes(room.progress) || also(room));
  if (some.length === 0) return '';
  const margin = Math.min(widest, Math.max(...some.map(({ room }) => room.key.length)) + 4);
  const lines = some.map((room) => inMargin(tame(room.room.key), tame(roomInLine(room, progress)), margin, look));
  return `\n${painter(look)('bold', title)} (${some.length})\n${lines.join('\n')}\n`;
}

function roomInLine(
  { last, tries, reached, next, approval, room }: RoomStatus,
  progress: readonly RoomProgress[],
): string {
  if (last === undefined) return '';
  const { at, who, stick } = last.visit;
  const when = `${at}, ${who}${stick === null ? '' : `, stick ${stick}`}`;
  const said = wordsOf(last).map((text) => `"${text.split('\n').join(' / ')}"`);
  if (progress.length === 0) return `${when}; ${approval === null ? 'NO APPROVAL NOTED' : `approved by ${approval}`}`;
  if (last.result === 'failed') return `${countInWords(tries.length, 'try', 'tries')}; ${[when, ...said].join(': ')}`;
  if (last.result === 'step' && next !== undefined)
    return `has ${reached}, next ${next.build} (load ${next.load.id}); ${when}`;
  if (last.result === 'unclear') {
    return `shows ${last.visit.buildAfter ?? 'a build nobody read'}, expected ${room.target ?? 'nothing'}; ${when}`;
  }
  return [when, ...said].join(': ');
}

/** Rooms where nobody was: names only, by load. */
function renderLeft(title: string, { rooms }: RoundStatus, progress: RoomProgress, look: Look): string {
  const some = rooms.filter((room) => room.progress === progress);
  if (some.length === 0) return '';
  const loads = [...new Set(some.flatMap(({ next }) => next?.load.id ?? []))];
  const lines = loads.map((id) => {
    const mine = some.filter(({ next }) => next?.load.id === id);
    const sticks = mine[0]?.sticks ?? [];
    const carried = sticks.length === 0 ? '' : `stick ${listInWords(sticks)}: `;
    return inMargin(id, tame(`${carried}${mine.map(({ room }) => room.key).join(', ')}`), 6, look);
  });
  return `\n${painter(look)('bold', title)} (${some.length})\n${lines.join('\n')}\n`;
}

/** Rooms that update themselves: due to be looked at until somebody read their build. */
function renderOverTheAir({ rooms }: RoundStatus, look: Look): string {
  const some = rooms.filter(({ progress }) => progress === 'over-the-air');
  if (some.length === 0) return '';
  const margin = Math.min(widest, Math.max(...some.map(({ room }) => room.key.length)) + 4);
  const lines = some.map(({ room, last }) => {
    const expected = room.target === null ? 'no build is said to be expected' : `${room.target} is expected`;
    const looked = last === undefined ? 'nobody has looked yet' : `looked ${last.visit.at}, ${last.visit.who}`;
    return inMargin(tame(room.key), tame(`${expected}; ${looked}`), margin, look);
  });
  return `\n${painter(look)('bold', 'Over the air, look again')} (${some.length})\n${lines.join('\n')}\n`;
}

/** Rooms that the plan stopped, by what stands in the way: they want a person, not a stick. */
function renderHeld({ rooms }: RoundStatus, look: Look): string {
  const held = rooms.filter(({ progress }) => progress === 'held');
  if (held.length === 0) return '';
  const reasons = groupBy(held, ({ room }) => room.findings.find(isInTheWay)?.title ?? 'stopped by the plan');
  const lines = [...reasons].map(([reason, some]) =>
    inMargin('', tame(`${reason}: ${some.map(({ room }) => room.key).join(', ')}`), 4, look),
  );
  return `\n${painter(look)('bold', 'Held back by the plan')} (${held.length})\n${lines.join('\n')}\n`;
}

const isInTheWay = ({ severity }: RoomStatus['room']['findings'][number]): boolean =>
  severity === 'stop' || severity === 'unproven';

const stickWords: Record<StickState, string> = {
  ready: 'ready',
  'was-out': 'out',
  returned: 'back',
  cleared: 'cleared',
  unknown: 'unknown',
};

function renderSticks(sticks: readonly StickStatus[], look: Look): string {
  if (sticks.length === 0) return '';
  const lines = sticks.map((stick) => {
    const rooms = [...new Set(stick.visits.map(({ room }) => room))];
    const load = stick.load?.id ?? stick.prepared?.load ?? '?';
    const back = stick.returned === undefined ? '' : `; came back ${stick.returned.state}`;
    const where = rooms.length === 0 ? 'nowhere yet' : listInWords(rooms);
    const failed = stick.failures === 0 ? '' : `; failed ${countInWords(stick.failures, 'time')}`;
    const head = `${padded(stick.code, 10)}${padded(load, 4)}${padded(stick.state === 'ready' && stick.unproven.length > 0 ? 'unproven' : stickWords[stick.state], 9)}`;
    return inMargin(head, tame(`${where}${back}${failed}`), 26, look);
  });
  return `\n${painter(look)('bold', 'Sticks: code, load, where')}\n${lines.join('\n')}\n`;
}

function renderRepeats(repeats: readonly Repeat[], look: Look): string {
  if (repeats.length === 0) return '';
  const lines = repeats.map(({ by, name, failures, tries, rooms, texts }) => {
    const said =
      texts.length === 0 ? '' : `\nsaid: ${tame(texts.map((text) => `"${text.split('\n').join(' / ')}"`).join(', '))}`;
    return inMargin(
      by,
      `${tame(name)}\n${tame(`${failures} of ${tries} tries failed, in ${listInWords(rooms)}`)}${said}`,
      11,
      look,
    );
  });
  return `\n${painter(look)('bold', 'Fails more than once: stop and look before the next room')}\n${lines.join('\n')}\n`;
}

function renderAnswer({ status: { counts, rooms }, verdict }: RoundStatusReport, look: Look): string {
  const paint = painter(look);
  const planned = rooms.filter(({ room }) => room.state === 'update' || room.state === 'over-the-air');
  const todo = planned.length;
  const left = planned.filter(({ progress }) => progress !== 'done').length;
  if (left > 0) {
    const done = `${todo - left} of ${countInWords(todo, 'room')} to update are done, ${left} left`;
    return `${paint(['bold', 'yellow'], 'NOT DONE')}: ${done}.\n`;
  }
  const held =
    counts.held === 0 ? '' : ` ${countInWords(counts.held, 'room was', 'rooms were')} held back by the plan.`;
  const doubt = verdict === 'ready' ? '' : ' Not all of it is proven: see above.';
  return `${paint(['bold', 'green'], 'ALL DONE')}: ${countInWords(todo, 'room')}.${held}${doubt}\n`;
}

export const renderRoundExport = ({ findings }: RoundExportReport, look: Look): string =>
  renderFindings(findings, look);
