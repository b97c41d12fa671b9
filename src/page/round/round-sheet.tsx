import type { ComponentChildren } from 'preact';
import { useEffect } from 'preact/hooks';
import type { RoomProgress } from '../../core/rounds/records/round-status.ts';
import { countInWords } from '../../core/text/words.ts';
import { When, Words } from '../sheet/marks.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { ListPart } from './list-part.tsx';
import { PaperPart } from './paper-part.tsx';
import { PlanPart } from './plan-part.tsx';
import { ResultsPart } from './results-part.tsx';
import { progressWords, round, status, watchRound } from './round-state.ts';
import { SticksPart } from './sticks-part.tsx';

/** The leaves of a round's folder, in the order of the work. */
const leaves: readonly { readonly path: string; readonly name: string; readonly show: () => ComponentChildren }[] = [
  { path: 'list', name: 'List', show: () => <ListPart /> },
  { path: 'plan', name: 'Plan', show: () => <PlanPart /> },
  { path: 'sticks', name: 'Sticks', show: () => <SticksPart /> },
  { path: 'paper', name: 'Paper', show: () => <PaperPart /> },
  { path: 'results', name: 'Results', show: () => <ResultsPart /> },
];

/** A round from its list to its export: a cover, and behind it a leaf for each step. */
export function RoundSheet({ part }: { part: string }) {
  useEffect(watchRound, []);
  const seen = round.value;
  if (seen === undefined) return <p class="quiet">Looking at the round …</p>;
  const usual = seen.plan === undefined ? 'list' : 'plan';
  const leaf = leaves.find(({ path }) => path === (part || usual)) ?? leaves[0];
  return (
    <div class="sheet round">
      <Cover />
      {seen.problem === undefined ? null : <p class="notice">{seen.problem}</p>}
      <nav class="leaves" aria-label="Leaves of the round">
        {leaves.map(({ path, name }) => (
          <a key={path} href={`#round/${path}`} aria-current={path === leaf?.path ? 'page' : undefined}>
            {name}
          </a>
        ))}
      </nav>
      {leaf?.show()}
    </div>
  );
}

function Cover() {
  const { place, plan, rounds } = round.value ?? { place: undefined, plan: undefined, rounds: [] };
  const others = rounds.filter((one) => one.place !== place);
  const name = rounds.find((one) => one.place === place)?.name;
  return (
    <header class="round-cover">
      <div class="sheet-head">
        <h1>{plan === undefined || name === undefined ? 'Round' : <Words>{`Round ${name}`}</Words>}</h1>
        {others.length === 0 ? null : (
          <label class="other-rounds">
            Another round
            <select
              value=""
              onChange={({ currentTarget }) => {
                const chosen = currentTarget.value;
                if (chosen !== '') void attempt(() => ask('POST', '/api/round/choose', { place: chosen }));
              }}
            >
              <option value="">on the desk now: {name ?? 'none'}</option>
              {others.map((one) => (
                <option key={one.place} value={one.place}>
                  {one.name}
                </option>
              ))}
            </select>
          </label>
        )}
      </div>
      {plan === undefined || place === undefined ? null : (
        <p class="quiet">
          Planned <When>{plan.plannedAt}</When>, kept in <code>{place}</code>
        </p>
      )}
      <Glance />
    </header>
  );
}

/** How far the round is: in words, and as a bar of as many parts. */
function Glance() {
  const now = status.value;
  if (now === undefined) return null;
  const kinds = (Object.keys(progressWords) as RoomProgress[]).filter((one) => now.counts[one] > 0);
  const words = kinds.map((one) => `${now.counts[one]} ${progressWords[one]}`).join(', ');
  return (
    <div class="glance">
      <p role="status">
        <b>{countInWords(now.rooms.length, 'room')}:</b> {words}
      </p>
      <div class="glance-bar" aria-hidden="true">
        {kinds.map((one) => (
          <span key={one} class={`bar ${one}`} style={{ flexGrow: now.counts[one] }} title={progressWords[one]}>
            {now.counts[one]}
          </span>
        ))}
      </div>
    </div>
  );
}
