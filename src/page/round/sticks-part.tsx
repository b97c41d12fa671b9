import type { Load, Round } from '../../core/model/round.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { asPrepare, type PrepareDocument } from '../sheet/answers.ts';
import { Cure } from '../sheet/cure.tsx';
import { Findings } from '../sheet/findings.tsx';
import { Stamp, WipeBand } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { Plan } from '../sheet/plan.tsx';
import { WorkCard } from '../sheet/work-card.tsx';
import { work } from '../state.ts';
import { Next, nextOf, said, stickOf, ToFirst } from './next-stick.tsx';
import { round } from './round-state.ts';

/** Stick after stick in the order of the plan; which is next stands in the records, so it goes on after any end. */
export function SticksPart() {
  const { plan, todo = [] } = round.value ?? {};
  if (plan === undefined) return <p>No plan was made yet. Begin with the list.</p>;
  const pieces = work.value.filter(({ kind }) => kind === 'round prepare');
  const isBusy = pieces.some(({ state }) => state !== 'done' && state !== 'failed');
  const next = nextOf(todo);
  const later = todo.filter((one) => one !== next);
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
            <Outcome work={piece} plan={plan} isLast={piece === pieces.at(-1)} />
          </WorkCard>
        ))}
      </Part>
      <Part number={2} title="After it">
        {later.length === 0 ? (
          <p class="quiet">Nothing: that is the last one.</p>
        ) : (
          <ol>
            {later.map((one) => (
              <li key={`${one.load.id} ${one.number}`}>
                Stick {stickOf(one, plan)}: load {one.load.id}
                {one.load.wipes ? ', WIPES THE PANEL' : ''} <ToFirst one={one} todo={todo} />
              </li>
            ))}
          </ol>
        )}
      </Part>
    </div>
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

/** What somebody may still say of it is asked below the last one alone. */
function Outcome({ work: { proposal, answer }, plan, isLast }: { work: WorkSeen; plan: Round; isLast: boolean }) {
  if (answer === undefined) return proposal === undefined ? null : <Proposal document={proposal} />;
  const { sticks } = answer as RoundPrepareDocument;
  return (
    <>
      {sticks.length === 0 ? <p>Nothing was prepared: the round does not want that load any more.</p> : null}
      {sticks.map(({ load, target, verdict, code, findings, report, error }) => (
        <div key={target}>
          <Stamp verdict={verdict} />
          {code === null ? null : <WriteOnTag code={code} load={plan.loads.find(({ id }) => id === load)} />}
          {[findings, report?.findings ?? [], ...(report?.sticks ?? []).map((stick) => stick.findings)].map(
            (some, at) => (
              <Findings
                key={at}
                findings={some.filter(isWorthSaying)}
                cure={isLast && code === null ? (found) => <Cure found={found} said={said} /> : undefined}
              />
            ),
          )}
          {error == null ? null : <p class="notice">{inWindow(`${error.message} ${error.todo}`)}</p>}
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
