import { useState } from 'preact/hooks';
import {
  changesInWords,
  placeInWords,
  type WideningPlace,
  widenForLabel,
  widenForPackage,
} from '../../core/checks/fit/find-widening.ts';
import { readLabel, readPackageName } from '../../core/label/read-label.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { attempt, desk } from '../state.ts';
import { ask } from '../talk.ts';

/** More of what would be read from then on than help somebody to decide. */
const mostShown = 4;

/** Where a label or a package's name would be read but for the number of its digits. */
const placesFor = (text: string): readonly WideningPlace[] => {
  const families = desk.value?.families ?? [];
  return text.trim() === '' ? [] : [...widenForLabel(text, families), ...widenForPackage(text.trim(), families)];
};

interface Looked {
  readonly source: string;
  readonly document: ReportDocument;
}

/** Lets a family take as many digits as TEXT has: shown first, and written when somebody agrees. */
export function Widen({ text }: { text: string }) {
  return (
    <>
      {placesFor(text).map((place) => (
        <Place key={`${place.family.source} ${place.path.join('.')}`} text={text} place={place} />
      ))}
    </>
  );
}

function Place({ text, place }: { text: string; place: WideningPlace }) {
  const [looked, setLooked] = useState<Looked | undefined>(undefined);
  const { family, before, pattern, alsoRead } = place;
  const send = (write: boolean): Promise<ReportDocument | undefined> =>
    attempt(() => ask<ReportDocument>('POST', '/api/families/widen', { text, family: family.family, write }));
  const show = async (): Promise<void> => {
    const document = await send(false);
    setLooked(document === undefined ? undefined : { source: family.source, document });
  };
  const isStopped = looked?.document.findings.some(({ severity }) => severity === 'stop') === true;
  return (
    <div class="widen">
      <p>
        <b>{family.title}</b> would read it, but {changesInWords(place)}.
      </p>
      {looked === undefined ? (
        <button type="button" onClick={() => void show()}>
          Show what would change in the family file<span class="unseen">: {family.title}</span>
        </button>
      ) : (
        <>
          <dl>
            <dt>File</dt>
            <dd>
              <code>{placeInWords(place)}</code>
            </dd>
            <dt>Now</dt>
            <dd>
              <code>{before}</code>
            </dd>
            <dt>Then</dt>
            <dd>
              <code>{pattern}</code>
            </dd>
            <dt>Reads too</dt>
            <dd>
              {alsoRead.length === 0 ? (
                'nothing else that was tried'
              ) : (
                <Words>{alsoRead.slice(0, mostShown).join(', ')}</Words>
              )}
              ; and every example as before
            </dd>
          </dl>
          <Findings findings={looked.document.findings} />
          {isStopped ? null : (
            <button type="button" class="next" onClick={() => void send(true)}>
              Change {family.source}
            </button>
          )}
        </>
      )}
    </div>
  );
}

/** The same for any label or package name. */
export function WidenAny() {
  const [text, setText] = useState('');
  return (
    <details class="widen-any">
      <summary>A label or a package name has more digits, or fewer, than its family takes</summary>
      <label>
        As it is printed, or the package's file name
        <input
          type="text"
          value={text}
          autocomplete="off"
          spellcheck={false}
          onInput={({ currentTarget }) => setText(currentTarget.value)}
        />
      </label>
      <p role="status">{whyNone(text)}</p>
      <Widen text={text} />
    </details>
  );
}

function whyNone(text: string): string {
  if (text.trim() === '' || placesFor(text).length > 0) return '';
  const families = desk.value?.families ?? [];
  const [known] = [...readLabel(text, families).readings, ...readPackageName(text.trim(), families).readings];
  return known === undefined
    ? 'It differs from every family by more than a number of digits.'
    : `${known.family.title} read it already: nothing needs to be changed.`;
}
