import { Words } from '../sheet/marks.tsx';
import { answers, attempt, keepNow, lookAtDesk, slip, write } from '../state.ts';
import { ask } from '../talk.ts';
import { Ask } from './ask.tsx';

/** A family for a panel that none knows, of the label and the package that lie on the table. */
export function TableFamily() {
  const { table, packageOf, chosen, label } = slip.value;
  if (packageOf !== undefined)
    return (
      <div class="finding stop" role="status">
        <p>
          <Words>{chosen?.found.name ?? ''}</Words> is a package of {packageOf.title}, and <Words>{label.text}</Words>{' '}
          is no label of theirs. One of the two is not right: choose another package, or change the label.
        </p>
      </div>
    );
  if (table === undefined) return null;
  const make = async (): Promise<void> => {
    await keepNow();
    await ask('POST', '/api/slip/family');
    await lookAtDesk();
  };
  return (
    <div class="table-family">
      <h3>A family for this kind of panel</h3>
      {table.asked.map(({ id, text }) => (
        <p key={id}>
          {text} <span class="entry">{answers.value[id] || 'not known'}</span>{' '}
          <button type="button" class="plain" onClick={() => write({ [id]: undefined })}>
            change<span class="unseen">: {text}</span>
          </button>
        </p>
      ))}
      {table.open === undefined ? null : <Ask question={table.open} />}
      {table.examples === undefined ? null : (
        <>
          <p>
            It is written into your folder of families as <code>{table.examples.family}.yaml</code>, on your word alone:
            sticks made by it stay UNPROVEN until another panel confirms it.
          </p>
          <button type="button" class="next" onClick={() => void attempt(make)}>
            Write the family file
          </button>
        </>
      )}
    </div>
  );
}
