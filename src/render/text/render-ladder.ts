import { visibleLines } from '../../core/findings/visible.ts';
import type { RoundLadderReport } from '../../core/report/round-record-reports.ts';
import type { Ladder, Rung } from '../../core/rounds/records/failure-ladder.ts';
import { inMargin, type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';

const margin = 8;
const words: Record<Rung['state'], string> = {
  done: 'did',
  next: 'NOW',
  after: 'then',
  waits: 'wait',
  closed: 'over',
};

/** The tries so far, the rungs with the next one marked, what to stop at, and the message to the maker when it is time for it. */
export function renderLadder(ladder: Ladder, look: Look): string {
  const paint = painter(look);
  const { room, tries, isOver, recovery } = ladder;
  const [stop, ...cautions] = ladder.stopAtOnce;
  if (tries.length === 0) return `${fact('Room', room.key, look)}\nNo failed try is recorded for this room.\n`;
  const head = isOver
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
    isOver ? renderMessage(ladder, look) : '',
  ].join('');
}

function tryInWords({ at, who, stick, words: said }: Ladder['tries'][number]): string {
  const brought = stick === null ? 'stick not noted' : `stick ${stick}`;
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
