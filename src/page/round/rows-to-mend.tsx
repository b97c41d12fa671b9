import { useState } from 'preact/hooks';
import type { ListSeen, RowSeen } from '../../core/report/round-talk.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { countInWords } from '../../core/text/words.ts';
import { Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { fieldWords } from './columns.tsx';
import { lookAtRound, round, wantedRows } from './round-state.ts';

/** A row that is left out, or that says something which must be asked. */
const isGrave = ({ findings, unused }: RowSeen): boolean =>
  unused?.why === 'unusable' || findings.some(({ severity }) => severity === 'stop' || severity === 'unproven');

const mostAtOnce = 40;

/** Rows that cannot be used, each with its reason beside it, mended in place on our copy of the list. */
export function RowsToMend({ list }: { list: ListSeen }) {
  const [most, setMost] = useState(mostAtOnce);
  const isAskedFor = ({ row }: RowSeen): boolean => wantedRows.value.includes(row);
  const grave = list.rows.filter((row) => isGrave(row) || isAskedFor(row) || row.mended.length > 0);
  const others = list.rows.filter((row) => !grave.includes(row));
  return (
    <Part number={3} title="Rows to mend">
      {grave.length === 0 ? (
        <p>Every row can be used.</p>
      ) : (
        <p>
          {countInWords(grave.length, 'row')} below. A row that is not mended is left out of the round, and is said to
          be. Mending writes on our copy; the list itself stays as it is.
        </p>
      )}
      <ol class="rows">
        {grave.slice(0, most).map((row) => (
          <Strip key={row.index} row={row} list={list} />
        ))}
      </ol>
      {grave.length > most ? (
        <button type="button" onClick={() => setMost(most + mostAtOnce)}>
          Show {Math.min(mostAtOnce, grave.length - most)} more of {grave.length}
        </button>
      ) : null}
      {others.length === 0 ? null : (
        <details>
          <summary>{countInWords(others.length, 'row')} with something to mind</summary>
          <ol class="rows">
            {others.slice(0, most).map((row) => (
              <Strip key={row.index} row={row} list={list} />
            ))}
          </ol>
        </details>
      )}
    </Part>
  );
}

/** One row as a strip of paper: its cells to write on, and why it cannot stay as it is. */
function Strip({ row, list }: { row: RowSeen; list: ListSeen }) {
  const { cells, findings, unused, mended, place, index } = row;
  const width = Math.max(cells.length, list.headings.length);
  const shown = Array.from({ length: width }, (_, column) => column).filter((column) => {
    const known = list.columns[column];
    return known?.field !== undefined || (cells[column] ?? '') !== '';
  });
  const inPlan = round.value?.plan?.rooms.find((room) => room.row === row.row && wantedRows.value.includes(row.row));
  return (
    <li class={unused === undefined ? 'strip' : 'strip left-out'}>
      <h3>
        {place}
        {unused === undefined ? '' : ': left out'}
        {mended.length === 0 ? '' : ', mended'}
      </h3>
      {findings.map(({ code, seen, todo }) => (
        <p key={code} class="reason">
          {inWindow(seen)} <b>To do:</b> {inWindow(todo)}
        </p>
      ))}
      {findings.length === 0 && unused !== undefined ? <p class="reason">{unused.reason}</p> : null}
      {inPlan?.findings.map(({ code, seen, todo }) => (
        <p key={code} class="reason">
          {inWindow(seen)} <b>To do:</b> {inWindow(todo)}
        </p>
      ))}
      <div class="strip-cells">
        {shown.map((column) => (
          <Cell key={column} index={index} column={column} text={cells[column] ?? ''} list={list} row={row} />
        ))}
      </div>
    </li>
  );
}

interface CellWords {
  readonly index: number;
  readonly column: number;
  readonly text: string;
  readonly list: ListSeen;
  readonly row: RowSeen;
}

async function mend(index: number, column: number, text: string | undefined): Promise<void> {
  await attempt(() =>
    ask('PUT', '/api/round/list', { mend: { index, column, ...(text === undefined ? {} : { text }) } }),
  );
  await lookAtRound();
}

function Cell({ index, column, text, list, row }: CellWords) {
  const known = list.columns[column];
  const isMended = row.mended.includes(column);
  const heading = known?.heading || `column ${column + 1}`;
  const taken = known?.field === undefined ? '' : fieldWords[known.field];
  return (
    <div class={isMended ? 'cell mended' : 'cell'}>
      <label>
        <span>
          <Words>{heading}</Words>
          {taken === '' || taken === heading.toLowerCase() ? '' : ` (${taken})`}
        </span>
        <input
          type="text"
          value={text}
          autocomplete="off"
          spellcheck={false}
          onChange={({ currentTarget }) => void mend(index, column, currentTarget.value)}
        />
      </label>
      {isMended ? (
        <button type="button" class="plain" onClick={() => void mend(index, column, undefined)}>
          as it was
        </button>
      ) : null}
    </div>
  );
}
