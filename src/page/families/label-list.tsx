import { useState } from 'preact/hooks';
import { checkLabelList } from '../../core/checks/fit/check-label.ts';
import { verdictOf } from '../../core/findings/finding.ts';
import { countInWords } from '../../core/text/words.ts';
import { asSeen, Findings } from '../sheet/findings.tsx';
import { Stamp, Words } from '../sheet/marks.tsx';
import { desk } from '../state.ts';

/** More of them make a page that nobody reads; the command takes any number. */
const mostLabels = 500;

/** A list of labels, one a line, each judged as on the slip: a list of what hangs where is looked through at once. */
export function LabelList() {
  const [text, setText] = useState('');
  const [all, setAll] = useState<ReturnType<typeof checkLabelList>>([]);
  const labels = all.slice(0, mostLabels).map((one) => ({ ...one, verdict: verdictOf(one.findings) }));
  const open = labels.filter(({ verdict }) => verdict !== 'ready').length;
  return (
    <details class="widen-any label-list">
      <summary>Read a list of labels</summary>
      <label>
        One a line, as they are printed
        <textarea
          rows={4}
          value={text}
          spellcheck={false}
          onInput={({ currentTarget }) => setText(currentTarget.value)}
        />
      </label>
      <button type="button" onClick={() => setAll(checkLabelList(text, desk.value?.families ?? []))}>
        Read them
      </button>
      {all.length === 0 ? null : (
        <p role="status">
          {countInWords(labels.length, 'label')}
          {open === 0 ? ', all read.' : `, of which ${open} to look at.`}
          {all.length > labels.length ? ' The others are left out: paste them by themselves.' : ''}
        </p>
      )}
      <ol>
        {labels.map(({ line, reading, verdict, findings }) => (
          <li key={line} value={line}>
            <b>
              <Words>{reading.text}</Words>
            </b>{' '}
            <Stamp verdict={verdict} />
            <Findings findings={findings.map(asSeen)} />
          </li>
        ))}
      </ol>
    </details>
  );
}
