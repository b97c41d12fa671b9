import { useMemo } from 'preact/hooks';
import { prepareLine } from '../../core/guide/guide-course.ts';
import { stateWords } from '../../core/report/job-meters.ts';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { asPrepare, type PrepareDocument, type StickInDocument } from '../sheet/answers.ts';
import { Findings } from '../sheet/findings.tsx';
import { Stamp, Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { Plan } from '../sheet/plan.tsx';
import { useFocus } from '../sheet/take-focus.ts';
import { Agree, Meters, WorkError } from '../sheet/work-view.tsx';
import { attempt, desk, keepNow, slip, work } from '../state.ts';
import { ask } from '../talk.ts';
import { chosenTargets, missingTargets } from './chosen-targets.ts';
import { Cure } from './cure.tsx';
import { StickDone } from './stick-done.tsx';

/** From exactly what would be written to the verdict. */
export function WritePart() {
  const last = work.value.findLast(({ kind }) => kind === 'prepare');
  const isOver = last === undefined || last.state === 'done' || last.state === 'failed';
  return (
    <Part number={5} title="What is written" isWide>
      {last === undefined ? null : <Preparation work={last} />}
      {isOver ? <Begin isAgain={last !== undefined} /> : null}
    </Part>
  );
}

function Begin({ isAgain }: { isAgain: boolean }) {
  const { order, label, chosen, way, isPublishedWrong } = slip.value;
  const targets = chosenTargets();
  const missing = [
    ...(label.isSure ? [] : ['the label, read twice']),
    ...(way.decided?.way === 'stick' ? [] : ['what it can still do, as long as that leads to a stick']),
    ...(chosen === undefined ? ['the package'] : []),
    ...(isPublishedWrong ? ['what the maker publishes of it, as it can be'] : []),
    ...(targets.length === 0 ? ['a stick'] : []),
    ...missingTargets().map((target) => `${target}, which is not plugged in any more`),
    ...targets.filter(({ rights }) => rights !== undefined).map(({ target }) => `the right to write to ${target}`),
  ];
  if (order === undefined || missing.length > 0)
    return <p class="quiet">Still to be filled in: {missing.join('; ')}.</p>;
  const sticks = targets.map(({ target }) => target);
  const begin = async (): Promise<void> => {
    await keepNow();
    await ask('POST', '/api/prepare', { ...order, targets: sticks });
  };
  return (
    <div>
      <button type="button" class="next" id="agreement-or-next" onClick={() => void attempt(begin)}>
        {isAgain ? 'Look again what would be written' : 'Show exactly what would be written'}
      </button>{' '}
      <span class="quiet">{isAgain ? 'Looking writes nothing.' : 'Nothing is written yet.'}</span>
      <details class="in-one">
        <summary>The same in one command</summary>
        <code>{prepareLine({ ...order, sticks, shelf: desk.value?.shelf })}</code>
      </details>
    </div>
  );
}

function Preparation({ work: seen }: { work: WorkSeen }) {
  const { state, proposal, agreement, answer, error, id } = seen;
  const shown = answer ?? proposal;
  const isOver = answer !== undefined;
  // A plan of thousands of files stays as it is while its progress is told many times a second.
  const document = useMemo(
    () => shown && <Document document={asPrepare(shown)} isPlan={!isOver} isOver={isOver} id={id} />,
    [shown, isOver, id],
  );
  return (
    <div class="preparation" aria-busy={state === 'working'}>
      <WorkError error={error} />
      {document}
      {agreement === undefined ? null : <Agree key={agreement.words} id={id} agreement={agreement} />}
      {state === 'working' || state === 'stopping' ? <Meters work={seen} /> : null}
    </div>
  );
}

interface DocumentWords {
  readonly document: PrepareDocument;
  readonly isPlan: boolean;
  readonly isOver: boolean;
  readonly id: string;
}

function Document({ document, isPlan, isOver, id }: DocumentWords) {
  const [only, ...others] = document.sticks;
  const cure = isOver ? (found: PrepareDocument['findings'][number]) => <Cure found={found} /> : undefined;
  // One stick's findings are read with those of the package; of several, each has its own.
  const isOne = only !== undefined && others.length === 0;
  return (
    <section
      aria-label={isPlan ? 'What would be written' : 'What became of it'}
      tabIndex={-1}
      ref={useFocus<HTMLElement>(isPlan)}
    >
      <Findings findings={isOne ? inOneList(document.findings, only.findings) : document.findings} cure={cure} />
      {document.sticks.map((stick) => (
        <Stick
          key={stick.target}
          isOne={isOne}
          stick={isOne ? { ...stick, findings: [] } : stick}
          isPlan={isPlan}
          cure={cure}
          id={id}
        />
      ))}
    </section>
  );
}

const weight = { stop: 0, unproven: 1, caution: 2, note: 3 };

const inOneList = (some: PrepareDocument['findings'], more: PrepareDocument['findings']) =>
  [...some, ...more].toSorted((a, b) => weight[a.severity] - weight[b.severity]);

interface StickWords {
  readonly isOne: boolean;
  readonly stick: StickInDocument;
  readonly isPlan: boolean;
  readonly cure: Parameters<typeof Findings>[0]['cure'];
  readonly id: string;
}

function Stick({ isOne, stick, isPlan, cure, id }: StickWords) {
  const { target, state, verdict, findings, plan, error } = stick;
  return (
    <article class="stick-answer">
      <h3>
        <Words>{target}</Words>
      </h3>
      {isPlan ? null : <Stamp verdict={verdict} />}
      {isPlan && state === 'planned' ? null : <p>{stateWords[state]}</p>}
      {error == null ? null : <p class="notice">{inWindow(`${error.message} ${error.todo}`)}</p>}
      <Findings findings={findings} cure={cure} />
      {isPlan && plan !== null ? (
        <details open={isOne || plan.items.some(({ action }) => action === 'remove' || action === 'set-aside')}>
          <summary>
            {countInWords(plan.items.length, 'step')}, {roundedSize(plan.writeBytes)} to write
          </summary>
          <Plan plan={plan} />
        </details>
      ) : null}
      {isPlan ? null : <StickDone stick={stick} id={id} />}
    </article>
  );
}
