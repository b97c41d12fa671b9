import { severityOf } from '../../core/findings/finding.ts';
import type {
  RoundLadderReport,
  RoundMergeReport,
  RoundPocketReport,
  RoundRecordReport,
} from '../../core/report/round-reports.ts';
import { progressWords } from '../../core/rounds/filled/export-changes.ts';
import type { Ladder, Rung } from '../../core/rounds/records/failure-ladder.ts';
import type { RoomStatus } from '../../core/rounds/records/round-status.ts';
import { visibleLines } from '../../core/text/visible.ts';
import { countInWords } from '../../core/text/words.ts';
import { inMargin, type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';

/** More rooms than this are counted, not listed. */
const mostRooms = 8;

/** What was kept, how its room stands now, and the next rung where it failed. */
export function renderRoundRecord(report: RoundRecordReport, look: Look): string {
  const { findings, recorded, rooms, ladder } = report;
  // Of a whole list only what needs a person: forty lines of "recorded" hide it.
  const isList = recorded.length > 1;
  const shown = isList ? findings.filter(({ code }) => code !== 'record/kept') : findings;
  return [
    shown.length === 0 ? '' : `${renderFindings(shown, look)}\n`,
    rooms.length <= mostRooms && recorded.length > 0 ? rooms.map((room) => renderRoom(room, look)).join('') : '',
    ladder === undefined ? '' : `\n${renderLadder(ladder, look)}\n`,
    renderAnswer(report, look),
  ].join('');
}

function renderRoom(status: RoomStatus, look: Look): string {
  const { room, progress, reached, next, tries } = status;
  const builds = [reached ?? room.running ?? 'not known', room.target].filter((build) => build !== null);
  const way = progress === 'done' ? `has ${builds[0]}` : builds.join(' → ');
  const left = next === undefined ? '' : `; next load ${next.load.id}`;
  const tried = tries.length === 0 ? '' : ` (${tries.length === 1 ? 'one try' : `${tries.length} tries`})`;
  return fact('Room', `${room.key}: ${progressWords[progress]}${tried}; ${way}${left}`, look);
}

/** Of the line, not of the panel: a failure that is noted is noted. */
function renderAnswer({ recorded, verdict, findings }: RoundRecordReport, look: Look): string {
  const paint = painter(look);
  const stops = findings.filter((found) => severityOf(found) === 'stop').length;
  const kept = recorded.length === 0 ? 'NOTHING RECORDED' : `RECORDED: ${countInWords(recorded.length, 'line')}`;
  const because = stops === 0 ? '' : `; ${countInWords(stops, 'thing', 'things')} to put right`;
  const unclear = verdict === 'unproven' ? '; something is not clear' : '';
  return `${paint(['bold', verdict === 'ready' ? 'green' : 'red'], kept)}${because}${unclear}.\n`;
}

export function renderRoundMerge({ findings, merged, place }: RoundMergeReport, look: Look): string {
  const added = merged.reduce((sum, one) => sum + one.added, 0);
  const answer = `${painter(look)(['bold', 'green'], 'MERGED')}: ${countInWords(added, 'new line')}.\n`;
  return `${fact('Round', place, look)}${renderFindings(findings, look)}\n${answer}`;
}

export function renderRoundPocket({ findings, file, who, rooms }: RoundPocketReport, look: Look): string {
  const answer = `${painter(look)(['bold', 'green'], 'WRITTEN')}: ${countInWords(rooms.length, 'room')} for ${tame(who)}.\n`;
  const next = 'Open it on the phone, once, while you are still here: it says what that phone gives it.';
  return `${fact('File', file, look)}${fact('Next', next, look)}${renderFindings(findings, look)}\n${answer}`;
}

const margin = 8;
const words: Record<Rung['state'], string> = {
  done: 'did',
  next: 'NOW',
  after: 'then',
  waits: 'wait',
  closed: 'over',
};

/**
 * The tries so far, the rungs with the next one marked, what to stop at, and the message to the maker when it is time
 * for it.
 */
function renderLadder(ladder: Ladder, look: Look): string {
  const paint = painter(look);
  const { room, tries, isOver, recovery } = ladder;
  const [stop, ...cautions] = ladder.stopAtOnce;
  const asksMaker = ladder.way === 'over-the-air' && tries.length > 1;
  if (tries.length === 0) return `${fact('Room', room.key, look)}\nNo failed try is recorded for this room.\n`;
  const head =
    ladder.way === 'over-the-air'
      ? 'Its own update failed. What comes next is the next way, the mildest first.'
      : isOver
        ? `STOP: ${tries.length === 2 ? 'two' : tries.length} tries failed. Nobody tries again before the maker has answered.`
        : 'One try failed. One more is left; change something before it.';
  return [
    `${paint('bold', 'Failure ladder')}\n`,
    fact('Room', [room.key, room.label, room.asset, room.serial].filter((one) => one !== null).join(', '), look),
    fact('Build', `${ladder.build ?? 'not known'}${room.target === null ? '' : `; wanted ${room.target}`}`, look),
    ...tries.map((one, at) => fact(at === 0 ? 'Tries' : '', tryInWords(one), look)),
    '\n',
    `${paint(['bold', isOver ? 'red' : 'yellow'], paragraph(head, 2, look))}\n`,
    `${paragraph(stop ?? '', 2, look)}\n\n`,
    ...ladder.rungs.map((rung) => renderRung(rung, look)),
    recovery === undefined ? '' : `\n${paragraph(recovery, 2, look)}\n`,
    `\n${cautions.map((line) => paragraph(line, 2, look)).join('\n')}\n`,
    isOver || asksMaker ? renderMessage(ladder, look) : '',
  ].join('');
}

function tryInWords({ at, who, brought, words: said }: Ladder['tries'][number]): string {
  return `${at}, ${who}, ${brought}: ${said === '' ? 'no words noted' : `"${said}"`}`;
}

function renderRung({ state, title, what, command }: Rung, look: Look): string {
  const paint = painter(look);
  // What waits is named only: a person reads what is to be done now.
  if (state === 'waits' || state === 'closed' || state === 'done') {
    return `${paint('gray', inMargin(words[state], title, margin, look))}\n`;
  }
  const head = inMargin(words[state], title, margin, look);
  const body = paragraph(tame(what), margin, look);
  // A command stays on one line, so that it can be copied.
  const run = command === undefined ? '' : `\n${' '.repeat(margin)}$ ${tame(command)}`;
  return `${state === 'next' ? paint('bold', head) : head}\n${body}${run}\n`;
}

function renderMessage({ message }: Ladder, look: Look): string {
  const rule = '-'.repeat(Math.min(60, look.columns));
  const title = painter(look)('bold', 'To the maker, ready to copy');
  return `\n${title}\n${rule}\n${visibleLines(message).replace(/^(?=.)/gm, '  ')}\n${rule}\n`;
}

export function renderRoundLadder({ ladder, findings }: RoundLadderReport, look: Look): string {
  const said = findings.length === 0 ? '' : `${renderFindings(findings, look)}\n`;
  return `${said}${ladder === undefined ? '' : renderLadder(ladder, look)}`;
}
