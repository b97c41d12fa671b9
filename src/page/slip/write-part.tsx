import { stateWords } from '../../core/report/job-meters.ts';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { asPrepare, type PrepareDocument, type StickInDocument } from '../sheet/answers.ts';
import { Findings } from '../sheet/findings.tsx';
import { Stamp, WipeBand, Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { Plan } from '../sheet/plan.tsx';
import { Agree, Meters } from '../sheet/work-view.tsx';
import { answers, attempt, slip, work } from '../state.ts';
import { ask } from '../talk.ts';
import { chosenTargets } from './stick-part.tsx';

/** From exactly what would be written to the verdict. */
export function WritePart() {
  const last = work.value.findLast(({ kind }) => kind === 'prepare');
  return (
    <Part number={5} title="What is written">
      {last === undefined || last.state === 'done' || last.state === 'failed' ? <Begin /> : null}
      {last === undefined ? null : <Preparation work={last} />}
    </Part>
  );
}

function Begin() {
  const { order, label, chosen, way } = slip.value;
  const targets = chosenTargets();
  const missing = [
    ...(label.isSure ? [] : ['the label, read twice']),
    ...(way.decided?.way === 'stick' ? [] : ['the way, which must be a stick']),
    ...(chosen === undefined ? ['the package'] : []),
    ...(targets.length === 0 ? ['a stick'] : []),
  ];
  if (order === undefined || missing.length > 0)
    return <p class="quiet">Still to be filled in: {missing.join('; ')}.</p>;
  const body = { ...order, targets, leftovers: answers.value.leftovers ?? 'stop' };
  return (
    <div>
      <button type="button" class="next" onClick={() => void attempt(() => ask('POST', '/api/prepare', body))}>
        Show exactly what would be written
      </button>{' '}
      <span class="quiet">Nothing is written yet.</span>
    </div>
  );
}

function Preparation({ work: seen }: { work: WorkSeen }) {
  const { state, proposal, agreement, answer, error, id } = seen;
  const shown = answer ?? proposal;
  return (
    <div class="preparation" aria-busy={state === 'working'}>
      {error === undefined ? null : (
        <div class="finding stop" role="alert">
          <p>
            <b>{error.message}</b> <code>{error.code}</code>
          </p>
          <p>{error.todo}</p>
        </div>
      )}
      {shown === undefined ? null : <Document document={asPrepare(shown)} isPlan={answer === undefined} />}
      {agreement === undefined ? null : <Agree id={id} agreement={agreement} />}
      {state === 'working' || state === 'stopping' ? <Meters work={seen} /> : null}
    </div>
  );
}

function Document({ document, isPlan }: { document: PrepareDocument; isPlan: boolean }) {
  return (
    <div>
      <Findings findings={document.findings} />
      {document.sticks.map((stick) => (
        <Stick key={stick.target} stick={stick} isPlan={isPlan} />
      ))}
    </div>
  );
}

function Stick({ stick, isPlan }: { stick: StickInDocument; isPlan: boolean }) {
  const { target, state, verdict, findings, plan, manifest, error } = stick;
  const isDone = state === 'written' || state === 'unchanged';
  return (
    <article class="stick-answer">
      <h3>
        <Words>{target}</Words>
      </h3>
      {isPlan ? null : <Stamp verdict={verdict} />}
      {isPlan && state === 'planned' ? null : <p>{stateWords[state]}</p>}
      {error == null ? null : (
        <p class="notice">
          {error.message} {error.todo}
        </p>
      )}
      <Findings findings={findings} />
      {isPlan && plan !== null ? <Plan plan={plan} /> : null}
      {isDone && manifest !== null && !isPlan ? (
        <>
          <p class="stick-code">
            Stick code <b>{manifest.stick}</b>, for <b>{manifest.label.text}</b>
          </p>
          {manifest.keepsData ? null : (
            <WipeBand>EVERYTHING ON THE PANEL IS WIPED. Only with approval, and after a backup.</WipeBand>
          )}
          <p>
            Eject it and wait until the system says that it can be pulled. Plug it in again and verify it before the
            walk. Into no other panel: compare its plate with {manifest.label.text}. The maker's service document comes
            first.
          </p>
        </>
      ) : null}
    </article>
  );
}
