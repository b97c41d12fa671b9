import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useRef } from 'preact/hooks';
import { encode } from 'uqr';
import { recordFindings } from '../core/findings/catalogue/record.ts';
import type { Finding } from '../core/findings/finding.ts';
import type { CatalogueEntry } from '../core/model/catalogue-entry.ts';
import { onPaper } from '../core/text/on-paper.ts';
import { visible, visibleFacts } from '../core/text/visible.ts';
import { copyText } from './phone.ts';
import { texts } from './texts.ts';

/** A label so that no character is taken for another: digits are underlined, as on the cards; a blank is a wide gap. */
export const PlateLabel = ({ text }: { readonly text: string }) => (
  <bdi class="label">
    {(text.match(/\d+|\s+|[^\d\s]+/gu) ?? []).map((run) =>
      /^\d/.test(run) ? <u>{run}</u> : /^\s/.test(run) ? <span class="blank"> </span> : run,
    )}
  </bdi>
);

/** Slanted black bars: the sign of everything that wipes, told without colour. */
export const Hatch = () => (
  <svg class="hatch" aria-hidden="true">
    <title />
    <pattern id="bars" width="16" height="16" viewBox="0 0 2 2" patternUnits="userSpaceOnUse">
      <path d="M0 1L1 0H2L0 2zM2 1V2H1z" />
    </pattern>
    <rect width="100%" height="100%" fill="url(#bars)" />
  </svg>
);

/** `stop`: nothing goes on from here. `good`: this was checked and is right. Told by word and frame, not by colour. */
export const Told = ({
  kind,
  children,
}: {
  readonly kind: 'stop' | 'good' | 'mind';
  readonly children: ComponentChildren;
}) => (
  <div class={`told ${kind}`} role={kind === 'stop' ? 'alert' : 'status'}>
    {children}
  </div>
);

/** A text of many lines to be copied: always there to be selected, whatever the browser allows. */
export function CopyField({ label, text }: { readonly label: string; readonly text: string }) {
  const field = useRef<HTMLTextAreaElement>(null);
  const said = useSignal('');
  const copy = async (): Promise<void> => {
    if (field.current === null) return;
    said.value = (await copyText(field.current)) ? texts.copied : texts.copyByHand;
  };
  return (
    <div class="copy">
      <label>
        {label}
        <textarea ref={field} readOnly rows={5} value={text} />
      </label>
      <button type="button" onClick={() => void copy()}>
        {texts.copy}
      </button>
      <p role="status" class="said">
        {said.value}
      </p>
    </div>
  );
}

/** White modules around (ISO/IEC 18004, quiet zone: 4). A screen has no dirt: least correction, largest squares. */
const quietModules = 4;

export function Code({ text, says }: { readonly text: string; readonly says: string }) {
  const { data, size } = encode(text, { ecc: 'L', border: quietModules });
  const path = data
    .map((row, y) =>
      [
        ...row
          .map((dark) => (dark ? '1' : '0'))
          .join('')
          .matchAll(/1+/g),
      ]
        .map(({ index, 0: run }) => `M${index} ${y}h${run.length}v1h-${run.length}z`)
        .join(''),
    )
    .join('');
  return (
    <svg class="code" role="img" aria-label={says} viewBox={`0 0 ${size} ${size}`} shape-rendering="crispEdges">
      <rect width={size} height={size} fill="#fff" />
      <path d={path} fill="#000" />
    </svg>
  );
}

const entries: Readonly<Record<string, CatalogueEntry<never>>> = recordFindings;

export const isStop = ({ code }: Finding): boolean => entries[code]?.severity === 'stop';
export const isAcceptable = ({ code }: Finding): boolean =>
  isStop({ code } as Finding) && entries[code]?.noOverride !== true;

/** A finding of a record, in the words of the catalogue; what only the desk can type is left out, as on paper. */
export function Said({ found }: { readonly found: Finding }) {
  const entry = entries[found.code];
  if (entry === undefined) return null;
  const facts = visibleFacts(found.facts) as never;
  const subject = visible(found.subject);
  const todo = typeof entry.todo === 'string' ? entry.todo : entry.todo(facts, subject);
  return (
    <Told kind={entry.severity === 'stop' ? 'stop' : 'mind'}>
      <p>
        <b>{entry.title}</b>
      </p>
      <p class="lines">{entry.seen(facts, subject)}</p>
      <p>{entry.why}</p>
      <p class="lines">{onPaper(todo)}</p>
    </Told>
  );
}
