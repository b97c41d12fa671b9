import { signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { type FamilySheet, familySheet } from '../../core/guide/family-course.ts';
import { type Answers, answerTo, objectionTo, type Question } from '../../core/guide/question.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { attempt, desk } from '../state.ts';
import { ask } from '../talk.ts';
import { partsInWords } from './family-plate.tsx';

interface Proposed extends ReportDocument {
  readonly text: string;
  readonly path: string | null;
}

const answers = signal<Answers>({});
/** What the check says of the file that the examples make. */
const proposed = signal<Proposed | undefined>(undefined);

const note = (id: string, answer: string): void => {
  answers.value = { ...answers.value, [id]: answer };
  proposed.value = undefined;
  kept = kept.then(keep);
};

let kept: Promise<unknown> = Promise.resolve();
let sent: Answers | undefined;

/** One after the other, so that what was typed last is what stays; what was kept meanwhile is not sent again. */
async function keep(): Promise<void> {
  if (sent === answers.value) return;
  sent = answers.value;
  await attempt(() => ask('PUT', '/api/families/draft', sent));
}

const order = (write: boolean): Promise<Proposed> =>
  ask('POST', '/api/families/new', { answers: answers.value, write });

/** Two or three labels and package names, and what their parts mean; read as they are typed. */
export function ByExample() {
  useEffect(() => {
    void attempt(async () => {
      answers.value = await ask<Answers>('GET', '/api/families/draft');
    });
  }, []);
  const sheet = familySheet(answers.value, desk.value?.who ?? '');
  const show = async (): Promise<void> => {
    proposed.value = await attempt(() => order(false));
  };
  const write = async (): Promise<void> => {
    const done = await attempt(() => order(true));
    if (done?.path == null) return;
    answers.value = {};
    proposed.value = undefined;
  };
  return (
    <details class="by-example">
      <summary>Make a family from what lies on the table</summary>
      {sheet.asked.map((question) => (
        <Entry key={question.id} question={question} />
      ))}
      {sheet.open === undefined ? null : <Entry key={sheet.open.id} question={sheet.open} />}
      <Readings readings={sheet.readings} />
      {sheet.examples === undefined ? null : (
        <button type="button" class="next" onClick={() => void show()}>
          Show the family that this makes
        </button>
      )}
      {proposed.value === undefined ? null : (
        <div>
          <Findings findings={proposed.value.findings} />
          <pre class="family-text">{proposed.value.text}</pre>
          {proposed.value.verdict === 'not-ready' ? null : (
            <button type="button" class="next" onClick={() => void write()}>
              Write it for this desk
            </button>
          )}
        </div>
      )}
    </details>
  );
}

/** A question and its answer, which can be changed at any time; what is proposed stands there already. */
function Entry({ question }: { question: Question }) {
  const { id, text, before, otherwise } = question;
  const answer = answerTo(answers.value, id);
  const objection = answer === undefined ? undefined : objectionTo(question, answer);
  const value = answer ?? otherwise ?? '';
  return (
    <div class="family-entry">
      {before === undefined ? null : <p class="quiet">{before}</p>}
      <label>
        {text.trim()}
        <input
          type="text"
          class={/^label\.\d+$/.test(id) ? 'plate' : undefined}
          value={value}
          autocomplete="off"
          spellcheck={false}
          onInput={({ currentTarget }) => note(id, currentTarget.value)}
        />
      </label>
      {answer === undefined ? (
        <button type="button" aria-label={`Note it: ${text.trim()}`} onClick={() => note(id, value)}>
          Note it
        </button>
      ) : null}
      {objection === undefined || answer === '' ? null : <p role="status">✗ {objection}</p>}
    </div>
  );
}

function Readings({ readings }: Pick<FamilySheet, 'readings'>) {
  if (readings.length === 0) return null;
  return (
    <table class="readings" aria-live="polite">
      <caption>How every example is read so far</caption>
      <tbody>
        {readings.map(({ text, parts }, at) => (
          <tr key={at}>
            <th scope="row">
              <Words>{text}</Words>
            </th>
            <td>{parts === undefined ? '✗ NOT READ' : partsInWords(parts)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
