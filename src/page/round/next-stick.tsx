import { effect, signal } from '@preact/signals';
import { isReason } from '../../core/findings/finding.ts';
import type { SignerSaid } from '../../core/guide/slip.ts';
import { type LeftoverPolicy, leftoverPolicies } from '../../core/model/mode.ts';
import type { Round } from '../../core/model/round.ts';
import type { PreparationSeen } from '../../core/report/round-talk.ts';
import { countInWords } from '../../core/text/words.ts';
import type { Said } from '../sheet/cure.tsx';
import { Signers, takeCertificate } from '../sheet/published.tsx';
import { StickWords } from '../sheet/stick-words.tsx';
import { attempt, targets } from '../state.ts';
import { ask } from '../talk.ts';
import { LoadTag } from './plan-part.tsx';
import { round } from './round-state.ts';

/** Its number in the plan: that of the turn in which it is prepared. */
export const stickOf = ({ load, number }: PreparationSeen, { schedule }: Round): number =>
  schedule.turns.filter((turn) => turn.room === null && turn.load === load.id)[number - 1]?.stick ?? number;

const chosen = signal<string | undefined>(undefined);
const leftovers = signal<LeftoverPolicy>('stop');

/** Reasons for stops, by their code; they are for the stick that comes next, and for no other. */
const reasons = signal<Readonly<Record<string, string>>>({});

/** What lifts a stop of the stick that comes next. */
export const said: Said = {
  leftovers: {
    get policy() {
      return leftovers.value;
    },
    choose: (policy) => (leftovers.value = policy),
  },
  reasonFor: (code) => reasons.value[code] ?? '',
  accept: (code, reason = '') => (reasons.value = { ...reasons.value, [code]: reason }),
  next: 'Show what would be written on it once more',
  keptIn: "the stick's record",
};

/** Whose signature is trusted, for every stick of the round that is made from this window. */
const signers = signal<readonly SignerSaid[]>([]);
const trusts = { trust: (trusted: readonly SignerSaid[]) => (signers.value = trusted) };

const keyOf = ({ load, number }: PreparationSeen): string => `${load.id} ${number}`;

/** The stick that somebody wants before its turn; when it is made, the others go on in their order. */
const before = signal<string | undefined>(undefined);

/** The stick that comes next. */
export const nextOf = (todo: readonly PreparationSeen[]): PreparationSeen | undefined =>
  todo.find((one) => keyOf(one) === before.value) ?? todo[0];

/** Has a stick come before its turn, as `--load` does; of a load its first one is made first. */
export function ToFirst({ one, todo }: { one: PreparationSeen; todo: readonly PreparationSeen[] }) {
  const { id } = one.load;
  if (id === nextOf(todo)?.load.id || todo.find(({ load }) => load.id === id) !== one) return null;
  return (
    <button type="button" class="plain" onClick={() => (before.value = keyOf(one))}>
      prepare it first<span class="unseen">: load {id}</span>
    </button>
  );
}

let wanted = '';
effect(() => {
  const next = nextOf(round.value?.todo ?? []);
  const now = next === undefined ? '' : `${round.value?.place} ${keyOf(next)}`;
  // Another stick is another matter.
  if (now !== wanted) reasons.value = {};
  wanted = now;
});

/** A stick that was just plugged in is the one that is meant; what lay there before was not asked for. */
let known: readonly string[] | undefined;
effect(() => {
  const there = targets.value.map(({ target }) => target);
  const fresh = targets.value.find(
    ({ target, refused, doubt }) => (refused ?? doubt) === undefined && known?.includes(target) === false,
  );
  if (fresh !== undefined) chosen.value = fresh.target;
  known = there;
});

/** The stick that comes next: which one it is, and what is said of it before anything is shown. */
export function Next({ next, plan, isBusy }: { next: PreparationSeen; plan: Round; isBusy: boolean }) {
  const { load, number, of } = next;
  const target = targets.value.find((one) => one.target === chosen.value && one.refused === undefined);
  return (
    <>
      <p class="put-in" role="status">
        Put stick {stickOf(next, plan)} in now
        <span class="quiet block">
          {of === 1 ? '' : `number ${number} of ${of} with this load; `}
          {countInWords(round.value?.todo.length ?? 0, 'stick')} to go
        </span>
      </p>
      <ul class="loads">
        <LoadTag load={load} />
      </ul>
      <fieldset class="choices">
        <legend>Which one it is</legend>
        {targets.value.map((seen) => {
          const { target: path, refused } = seen;
          return (
            <label key={path}>
              <input
                type="radio"
                name="round-stick"
                checked={chosen.value === path}
                disabled={refused !== undefined || isBusy}
                onChange={() => {
                  chosen.value = path;
                }}
              />
              <StickWords seen={seen} />
            </label>
          );
        })}
        {targets.value.length === 0 ? <p>None is plugged in yet: it shows here by itself.</p> : null}
      </fieldset>
      <label class="leftovers">
        What would confuse a panel
        <select
          value={leftovers.value}
          onChange={({ currentTarget }) => {
            leftovers.value = leftoverPolicies.find((policy) => policy === currentTarget.value) ?? 'stop';
          }}
        >
          <option value="stop">stays, and the stick is not written</option>
          <option value="set-aside">is moved into a folder of its own</option>
          <option value="remove">is removed</option>
        </select>
      </label>
      <details class="published" open={signers.value.length > 0}>
        <summary>A certificate that is trusted to sign the packages</summary>
        <Signers origin={{ ...trusts, signers: signers.value }} />
        <label class="file-line">
          Its file{' '}
          <input
            type="file"
            accept=".pem,.crt,.cer,.der"
            onChange={({ currentTarget }) => {
              const [file] = currentTarget.files ?? [];
              currentTarget.value = '';
              if (file !== undefined) void attempt(() => takeCertificate(file, { ...trusts, signers: signers.value }));
            }}
          />
        </label>
      </details>
      <p>
        <button
          type="button"
          class="next"
          disabled={target === undefined || target.rights !== undefined || isBusy}
          onClick={() => {
            const accepted = Object.fromEntries(Object.entries(reasons.value).filter(([, reason]) => isReason(reason)));
            const order = {
              load: load.id,
              target: target?.target,
              leftovers: leftovers.value,
              accepted,
              signers: signers.value,
            };
            // The next stick is another one: it is picked anew.
            chosen.value = undefined;
            void attempt(() => ask('POST', '/api/round/prepare', order));
          }}
        >
          Show what would be written on it
        </button>{' '}
        <span class="quiet">Nothing is written yet.</span>
      </p>
    </>
  );
}
