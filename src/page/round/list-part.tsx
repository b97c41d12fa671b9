import { signal } from '@preact/signals';
import type { Mode } from '../../core/model/mode.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { ListSeen } from '../../core/report/round-talk.ts';
import { Findings } from '../sheet/findings.tsx';
import { WipeBand, Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { Columns } from './columns.tsx';
import { Drop } from './drop.tsx';
import { list, lookAtRound, planned, round, wantedRows } from './round-state.ts';
import { RowsToMend } from './rows-to-mend.tsx';

/** Lays a list on the desk; the one before is put away. */
export const takeList = async ([file]: readonly File[]): Promise<void> => {
  if (file === undefined) return;
  wantedRows.value = [];
  await attempt(() => ask('POST', `/api/round/list?name=${encodeURIComponent(file.name)}`, file));
  await lookAtRound();
};

/** A room list from the file to the plan: what its columns are, which rows must be mended, what is made of it. */
export function ListPart() {
  const seen = list.value;
  return (
    <div>
      <Part number={1} title="The list">
        {seen == null ? (
          <p class="quiet">
            One row for each panel, with its room and the label on its back. Only our copy of it is ever written on.
          </p>
        ) : (
          <p>
            <b>
              <Words>{seen.name}</Words>
            </b>
            {seen.count === undefined ? '' : `: ${seen.count}`}{' '}
            <button type="button" class="plain" onClick={() => void attempt(() => ask('DELETE', '/api/round/list'))}>
              Put the list away
            </button>
          </p>
        )}
        {seen == null || seen.sheets.length < 2 ? null : <Sheets list={seen} />}
        <Drop words="Drop a room list here: CSV, TSV or a workbook" accept=".csv,.tsv,.txt,.xlsx" take={takeList} />
        {seen == null ? null : <Findings findings={seen.findings.filter(({ severity }) => severity !== 'note')} />}
      </Part>
      {seen == null ? null : (
        <>
          <Columns list={seen} />
          <RowsToMend list={seen} />
          <MakePlan canPlan={seen.count !== undefined} />
        </>
      )}
    </div>
  );
}

/** Rooms on another sheet are not in the round: which one is read is said, and can be changed. */
function Sheets({ list: { sheet, sheets } }: { list: ListSeen }) {
  const choose = async (chosen: string): Promise<void> => {
    wantedRows.value = [];
    await attempt(() => ask('PUT', '/api/round/list', { sheet: chosen }));
    await lookAtRound();
  };
  return (
    <label class="sheets">
      The sheet that holds the rooms; another one begins anew with its columns and rows
      <select value={sheet ?? ''} onChange={({ currentTarget }) => void choose(currentTarget.value)}>
        {sheet === undefined ? <option value="">none of them is read</option> : null}
        {sheets.map(({ name, isHidden }) => (
          <option key={name} value={name}>
            {name}
            {isHidden ? ' (hidden)' : ''}
          </option>
        ))}
      </select>
    </label>
  );
}

const mode = signal<Mode>('in-os');
const sticks = signal('');
const minutes = signal('');
const setUp = signal('');
const isNew = signal(false);
const isPlanning = signal(false);

async function makePlan(): Promise<void> {
  isPlanning.value = true;
  const number = (text: string): number | undefined => (text.trim() === '' ? undefined : Number(text));
  const wishes = {
    mode: mode.value,
    sticks: number(sticks.value),
    visitMinutes: number(minutes.value),
    setUpMinutes: number(setUp.value),
  };
  const made = await attempt(() =>
    ask<ReportDocument>('POST', '/api/round/list/plan', { ...wishes, isNew: isNew.value }),
  );
  isPlanning.value = false;
  if (made === undefined) return;
  planned.value = made;
  await lookAtRound();
  location.hash = '#round/plan';
}

function MakePlan({ canPlan }: { canPlan: boolean }) {
  const there = round.value?.plan === undefined ? undefined : round.value.place;
  return (
    <Part number={4} title="The plan">
      <fieldset class="choices">
        <legend>Where the list asks for no way</legend>
        <label>
          <input type="radio" name="mode" checked={mode.value === 'in-os'} onChange={() => (mode.value = 'in-os')} />
          in-os: the panel runs, and keeps what is on it
        </label>
        <label>
          <input
            type="radio"
            name="mode"
            checked={mode.value === 'recovery'}
            onChange={() => (mode.value = 'recovery')}
          />
          recovery: the panel is wiped
        </label>
      </fieldset>
      {mode.value === 'recovery' ? (
        <WipeBand>EVERY PANEL WITHOUT A WAY OF ITS OWN IS WIPED. Each needs an approval with a name.</WipeBand>
      ) : null}
      <div class="numbers">
        <NumberOf label="Sticks at hand" hint="as many as there are loads" value={sticks} most={10_000} />
        <NumberOf label="Minutes at a panel" hint="as the family says" value={minutes} most={1_440} />
        <NumberOf label="Minutes to prepare a stick" hint="by its package" value={setUp} most={1_440} />
      </div>
      {there === undefined ? null : (
        <fieldset class="choices">
          <legend>Where it is kept</legend>
          <label>
            <input type="radio" name="where" checked={!isNew.value} onChange={() => (isNew.value = false)} />
            <span>
              instead of the plan on the desk; its records stay <code>{there}</code>
            </span>
          </label>
          <label>
            <input type="radio" name="where" checked={isNew.value} onChange={() => (isNew.value = true)} />
            in a new folder: another round
          </label>
        </fieldset>
      )}
      <p>
        <button type="button" class="next" disabled={!canPlan || isPlanning.value} onClick={() => void makePlan()}>
          {isPlanning.value ? 'Planning …' : 'Make the plan'}
        </button>{' '}
        <span class="quiet">
          {canPlan ? 'No stick is written yet.' : 'First point at the columns of room and label.'}
        </span>
      </p>
    </Part>
  );
}

interface NumberWords {
  readonly label: string;
  readonly hint: string;
  readonly value: { value: string };
  readonly most: number;
}

const NumberOf = ({ label, hint, value, most }: NumberWords) => (
  <label>
    {label}
    <input
      type="number"
      min={1}
      max={most}
      placeholder={hint}
      value={value.value}
      onInput={({ currentTarget }) => {
        value.value = currentTarget.value;
      }}
    />
  </label>
);
