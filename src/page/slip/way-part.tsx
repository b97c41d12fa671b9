import type { Question } from '../../core/guide/question.ts';
import type { Way } from '../../core/guide/which-way.ts';
import { WipeBand } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { answers, slip, write } from '../state.ts';

/** What the panel can still do, the mildest way first; the mode follows from it, nobody picks it. */
export function WayPart() {
  const { way, mayKnowRunning } = slip.value;
  return (
    <Part number={2} title="What it can still do">
      {way.asked.map((question) => (
        <WayQuestion key={question.id} question={question} />
      ))}
      {way.open === undefined ? null : <WayQuestion key={way.open.id} question={way.open} />}
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
      {way.decided === undefined ? null : <Decided way={way.decided} />}
    </Part>
  );
}

function WayQuestion({ question: { id, text, choices = [], kind } }: { question: Question }) {
  const given = answers.value[id];
  if (kind !== 'choice')
    return (
      <form
        class="line-entry"
        onSubmit={(event) => {
          event.preventDefault();
          write({ [id]: new FormData(event.currentTarget).get('answer')?.toString() ?? '' });
        }}
      >
        <label>
          {text}
          <input type="text" name="answer" defaultValue={given ?? ''} autocomplete="off" />
        </label>
        <button type="submit">Note it</button>
      </form>
    );
  return (
    <fieldset class="choices">
      <legend>{text}</legend>
      {choices.map(({ value, name }) => (
        <label key={value}>
          <input
            type="radio"
            name={id}
            value={value}
            checked={given === value}
            onChange={() => write({ [id]: value })}
          />
          {name}
        </label>
      ))}
    </fieldset>
  );
}

const wayWords: Readonly<Record<Way['way'], string>> = {
  'over-the-air': 'Over the air: no stick needed',
  stick: 'A stick',
  'stop-and-ask': 'Stop and ask: no stick yet',
};

function Decided({ way }: { way: Way }) {
  const wipes = way.way === 'stick' && way.mode === 'recovery';
  return (
    <div class="decided" role="status">
      <p>
        <b>
          {way.way === 'stick'
            ? way.mode === 'in-os'
              ? 'A stick, in its running OS'
              : 'A stick, through recovery'
            : wayWords[way.way]}
        </b>
      </p>
      <p>{way.reason}</p>
      {wipes ? <WipeBand>This wipes the panel.</WipeBand> : null}
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
