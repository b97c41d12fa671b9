import type { Way } from '../../core/guide/which-way.ts';
import { WipeBand } from '../sheet/marks.tsx';
import { answers, slip, write } from '../state.ts';
import { Ask } from './ask.tsx';
import { SlipPart } from './slip-part.tsx';

/** What the panel can still do, the mildest way first; the mode follows from it, nobody picks it. */
export function WayPart() {
  const { way, mayKnowRunning } = slip.value;
  const { decided } = way;
  // One list: a question that is answered stays where it is, and so does the focus.
  const questions = [...way.asked, ...(way.open === undefined ? [] : [way.open])];
  return (
    <SlipPart
      number={2}
      title="What it can still do"
      entry={decided === undefined ? undefined : <WayEntry way={decided} />}
    >
      {questions.map((question) => (
        <Ask key={question.id} question={question} />
      ))}
      {mayKnowRunning ? (
        <label class="line-entry">
          The build on its About page (leave it empty where nobody knows)
          <input
            type="text"
            value={answers.value.running ?? ''}
            autocomplete="off"
            spellcheck={false}
            onInput={({ currentTarget }) => write({ running: currentTarget.value || undefined })}
          />
        </label>
      ) : null}
      {decided === undefined ? null : <Decided way={decided} />}
    </SlipPart>
  );
}

const inWords = (way: Way): string => {
  switch (way.way) {
    case 'over-the-air':
      return 'Over the air: no stick needed';
    case 'stop-and-ask':
      return 'Stop and ask: no stick yet';
    case 'stick':
      return way.mode === 'in-os' ? 'A stick, in its running OS' : 'A stick, through recovery';
  }
};

const wipes = (way: Way): boolean => {
  if (way.way !== 'stick') return false;
  const { family } = slip.value.label;
  return family === undefined ? way.mode === 'recovery' : family.modes[way.mode]?.['keeps-data'] !== true;
};

function WayEntry({ way }: { way: Way }) {
  const { running, 'way.approved': approved } = answers.value;
  return (
    <>
      {inWords(way)}
      {way.way === 'stick' ? (wipes(way) ? '' : '; what is on the panel is kept') : ''}
      {running === undefined || !slip.value.mayKnowRunning ? '' : `; it runs ${running}`}
      {wipes(way) ? (
        <WipeBand>
          {`THIS WIPES THE PANEL.${approved === undefined || approved === '' ? '' : ` Approved by ${approved}.`}`}
        </WipeBand>
      ) : null}
    </>
  );
}

function Decided({ way }: { way: Way }) {
  return (
    <div class="decided" role="status">
      <p>
        <b>{inWords(way)}</b>
      </p>
      <p>{way.reason}</p>
      {wipes(way) ? <WipeBand>This wipes the panel.</WipeBand> : null}
      {way.todo.length === 0 ? null : (
        <ol>
          {way.todo.map((step) => (
            <li key={step}>{step}</li>
          ))}
        </ol>
      )}
    </div>
  );
}
