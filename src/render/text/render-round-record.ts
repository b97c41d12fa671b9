import { severityOf } from '../../core/findings/finding.ts';
import { countInWords } from '../../core/findings/words.ts';
import type { RoundMergeReport, RoundRecordReport } from '../../core/report/round-record-reports.ts';
import { progressWords } from '../../core/rounds/filled/export-changes.ts';
import type { RoomStatus } from '../../core/rounds/records/round-status.ts';
import { type Look, painter } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';
import { renderLadder } from './render-ladder.ts';

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
