import { signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { deskStateWords } from '../../core/guide/judge-desk.ts';
import type { DeskChecked } from '../../core/report/window-talk.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { WordLines } from '../sheet/marks.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { SealPart } from './seal-part.tsx';
import { SettingsPart } from './settings-part.tsx';

const checked = signal<DeskChecked | undefined>(undefined);
const isLooking = signal(false);

/** Counts the looks: what an earlier one says, and later, is old. */
let looks = 0;

async function look(): Promise<void> {
  looks += 1;
  const mine = looks;
  isLooking.value = true;
  const seen = await attempt(() => ask<DeskChecked>('POST', '/api/set-up/check', {}));
  if (mine !== looks) return;
  checked.value = seen;
  isLooking.value = false;
}

/** What there is on this machine, and what it says once. */
export function DeskSheet() {
  useEffect(() => void look(), []);
  return (
    <div class="sheet desk-sheet">
      <div class="sheet-head">
        <h1>Desk</h1>
        <button type="button" disabled={isLooking.value} onClick={() => void look()}>
          Look again
        </button>
      </div>
      <h2>What is here</h2>
      <p role="status">{isLooking.value ? 'Looking at this machine …' : outcome(checked.value)}</p>
      {checked.value === undefined ? null : <Here desk={checked.value.desk} />}
      <SealPart changed={() => void look()} />
      <SettingsPart changed={() => void look()} />
    </div>
  );
}

function outcome(found: DeskChecked | undefined): string {
  if (found === undefined) return '';
  const broken = found.desk.filter(({ state }) => state === 'broken').length;
  return broken === 0 ? 'Nothing that is needed is broken.' : `${broken} to mend.`;
}

const Here = ({ desk }: Pick<DeskChecked, 'desk'>) => (
  <table class="here">
    <caption class="unseen">What a desk needs, and whether it is here</caption>
    <tbody>
      {desk.map(({ name, title, state, detail, todo }) => (
        <tr key={name} class={state}>
          <th scope="row">{title}</th>
          <td class="whole">{deskStateWords[state]}</td>
          <td>
            <WordLines>{inWindow(detail)}</WordLines>
            {todo === '' ? null : <span class="block">{inWindow(todo)}</span>}
          </td>
        </tr>
      ))}
    </tbody>
  </table>
);
