import { effect, signal } from '@preact/signals';
import type { Load, Round } from '../../core/model/round.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { PreparationSeen } from '../../core/report/round-talk.ts';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { asPrepare, type PrepareDocument } from '../sheet/answers.ts';
import { Findings } from '../sheet/findings.tsx';
import { Stamp, WipeBand, Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { Plan } from '../sheet/plan.tsx';
import { Rights } from '../sheet/rights.tsx';
import { WorkCard } from '../sheet/work-card.tsx';
import { attempt, targets, work } from '../state.ts';
import { ask } from '../talk.ts';
import { LoadTag } from './plan-part.tsx';
import { round } from './round-state.ts';

/** Stick after stick in the order of the plan; which is next stands in the records, so it goes on after any end. */
export function SticksPart() {
  const { plan, todo = [] } = round.value ?? {};
  if (plan === undefined) return <p>No plan was made yet. Begin with the list.</p>;
  const pieces = work.value.filter(({ kind }) => kind === 'round prepare');
  const isBusy = pieces.some(({ state }) => state !== 'done' && state !== 'failed');
  const [next, ...later] = todo;
  return (
    <div>
      <Part number={1} title="Now">
        {next === undefined ? (
          <p role="status">
            <b>Every stick that the round wants is prepared.</b>
          </p>
        ) : (
          <Next next={next} plan={plan} isBusy={isBusy} />
        )}
        {pieces.toReversed().map((piece) => (
          <WorkCard key={piece.id} work={piece} title="Prepare">
            <Outcome work={piece} plan={plan} />
          </WorkCard>
        ))}
      </Part>
      <Part number={2} title="After it">
        {later.length === 0 ? (
          <p className="quiet">Nothing: that is the last one.</p>
        ) : (
          <ol>
            {later.map((one) => (
              <li key={`${one.load.id} ${one.number}`}>
                Stick {stickOf(one, plan)}: load {one.load.id}
                {one.load.wipes ? ', WIPES THE PANEL' : ''}
              </li>
            ))}
          </ol>
        )}
      </Part>
    </div>
  );
}

/** Its number in the plan: that of the turn in which it is prepared. */
const stickOf = ({ load, number }: PreparationSeen, { schedule }: Round): number =>
  schedule.turns.filter((turn) => turn.room === null && turn.load === load.id)[number - 1]?.stick ?? number;

const chosen = signal<string | undefined>(undefined);
const leftovers = signal('stop');

/** A stick that was just plugged in is the one that is meant; what lay there before was not asked for. */
let known: readonly string[] | undefined;
effect(() => {
  const there = targets.value.map(({ target }) => target);
  const fresh = targets.value.find(({ target, refused }) => refused === undefined && known?.includes(target) === false);
  if (fresh !== undefined) chosen.value = fresh.target;
  known = there;
});

function Next({ next, plan, isBusy }: { next: PreparationSeen; plan: Round; isBusy: boolean }) {
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
          const { target: path, name, bytes, holds, refused } = seen;
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
              <span>
                <b>
                  <Words>{name}</Words>
                </b>
                {bytes === undefined ? '' : `, ${roundedSize(bytes)}`} <code>{path}</code>
                {holds.map((volume) => (
                  <span key={volume} class="quiet block">
                    <Words>{volume}</Words>
                  </span>
                ))}
                {refused === undefined ? null : <span class="block">✗ Not used: {refused}.</span>}
                <Rights seen={seen} />
              </span>
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
            leftovers.value = currentTarget.value;
          }}
        >
          <option value="stop">stays, and the stick is not written</option>
          <option value="set-aside">is moved into a folder of its own</option>
          <option value="remove">is removed</option>
        </select>
      </label>
      <p>
        <button
          type="button"
          class="next"
          disabled={target === undefined || target.rights !== undefined || isBusy}
          onClick={() => {
            const order = { load: load.id, target: target?.target, leftovers: leftovers.value };
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

interface RoundPrepareDocument extends ReportDocument {
  readonly sticks: readonly {
    readonly load: string;
    readonly target: string;
    readonly verdict: NonNullable<ReportDocument['verdict']>;
    readonly code: string | null;
    readonly findings: ReportDocument['findings'];
    readonly report: PrepareDocument | null;
    readonly error: ReportDocument['error'] | null;
  }[];
}

function Outcome({ work: { proposal, answer }, plan }: { work: WorkSeen; plan: Round }) {
  if (answer === undefined) return proposal === undefined ? null : <Proposal document={proposal} />;
  const { sticks } = answer as RoundPrepareDocument;
  return (
    <>
      {sticks.length === 0 ? <p>Nothing was prepared: the round does not want that load any more.</p> : null}
      {sticks.map(({ load, target, verdict, code, findings, report, error }) => (
        <div key={target}>
          <Stamp verdict={verdict} />
          {code === null ? null : <WriteOnTag code={code} load={plan.loads.find(({ id }) => id === load)} />}
          <Findings findings={findings.filter(isWorthSaying)} />
          <Findings findings={(report?.findings ?? []).filter(isWorthSaying)} />
          {report?.sticks.map((stick) => (
            <Findings key={stick.target} findings={stick.findings.filter(isWorthSaying)} />
          ))}
          {error == null ? null : (
            <p class="notice">
              {error.message} {error.todo}
            </p>
          )}
        </div>
      ))}
    </>
  );
}

const isWorthSaying = ({ severity }: ReportDocument['findings'][number]): boolean => severity !== 'note';

/** Of many sticks only what asks something of the person. */
function Proposal({ document }: { document: ReportDocument }) {
  return (
    <>
      <Findings findings={document.findings.filter(isWorthSaying)} />
      {document.command === 'prepare'
        ? asPrepare(document).sticks.map(({ target, plan, findings }) => (
            <div key={target}>
              <Findings findings={findings.filter(isWorthSaying)} />
              {plan === null ? null : <Plan plan={plan} />}
            </div>
          ))
        : null}
    </>
  );
}

function WriteOnTag({ code, load }: { code: string; load: Load | undefined }) {
  return (
    <>
      <p class="stick-code">
        Write this on the tag now: <b>{code}</b>, load {load?.id}
      </p>
      {load?.wipes === true ? <WipeBand>WIPES THE PANEL</WipeBand> : null}
      <p>Tie the tag to the stick before you take the next one.</p>
    </>
  );
}
