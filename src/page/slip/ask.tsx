import { objectionTo, type Question } from '../../core/guide/question.ts';
import { answers, trouble, write } from '../state.ts';

/** A question of a course, drawn: a choice by its circles, a line by a field with its own button. */
export function Ask({ question }: { question: Question }) {
  const { id, text, before, choices = [], kind, otherwise } = question;
  const given = answers.value[id];
  if (kind !== 'choice') return <AskLine key={id} question={question} start={given ?? otherwise ?? ''} />;
  return (
    <fieldset class="choices">
      <legend>{text}</legend>
      {before === undefined || before === '' ? null : <p class="lines">{before}</p>}
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

function AskLine({ question, start }: { question: Question; start: string }) {
  const { id, text, before } = question;
  const note = (field: HTMLInputElement): void => {
    const answer = field.value.trim() === '' ? (question.otherwise ?? '') : field.value.trim();
    const objection = objectionTo(question, answer);
    field.setCustomValidity(objection ?? '');
    trouble.value = objection;
    if (objection === undefined) write({ [id]: answer });
    else field.focus();
  };
  return (
    <div class="line-entry">
      {before === undefined || before === '' ? null : <p class="lines">{before}</p>}
      <label>
        {text}
        <input
          type="text"
          id={`ask-${id}`}
          defaultValue={start}
          autocomplete="off"
          spellcheck={false}
          onKeyDown={(event) => {
            if (event.key !== 'Enter') return;
            event.preventDefault();
            note(event.currentTarget);
          }}
        />
      </label>
      <button
        type="button"
        onClick={({ currentTarget }) => {
          const field = currentTarget.parentElement?.querySelector('input');
          if (field != null) note(field);
        }}
      >
        Note it
      </button>
    </div>
  );
}
