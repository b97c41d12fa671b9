import { useState } from 'preact/hooks';
import { isUnconfirmed, whyNotConfirming } from '../../core/checks/fit/check-origin.ts';
import type { Family } from '../../core/model/family.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { Findings } from '../sheet/findings.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';

const nothing = { label: '', package: '', from: '' };

type Pair = typeof nothing;

const asks: readonly (readonly [keyof Pair, string])[] = [
  ['label', 'A label of another variant than it was made from'],
  ['package', 'The package that a panel with that label took'],
  ['from', 'Where that is known from: the panel that took it, a release note, a colleague'],
];

/** A label and its package from elsewhere confirm a family that was made on the table; judged while they are typed. */
export function Confirm({ family }: { family: Family }) {
  const [pair, setPair] = useState<Pair>(nothing);
  const [document, setDocument] = useState<ReportDocument | undefined>(undefined);
  if (!isUnconfirmed(family))
    return document === undefined ? null : (
      <p role="status" class="said-yes">
        ✓ It is confirmed. Prepare the sticks of it anew: they keep what was open when they were made.
      </p>
    );
  const said = { label: pair.label.trim(), package: pair.package.trim(), from: pair.from.trim() };
  const why = said.label === '' || said.package === '' ? undefined : whyNotConfirming(said, family);
  const isWhole = Object.values(said).every((text) => text !== '') && why === undefined;
  const send = async (event: Event): Promise<void> => {
    event.preventDefault();
    setDocument(await attempt(() => ask('POST', '/api/families/confirm', { ...said, family: family.family })));
  };
  return (
    <form class="confirm" aria-label={`Confirm ${family.title}`} onSubmit={(event) => void send(event)}>
      {asks.map(([name, words]) => (
        <label key={name}>
          {words}
          <input
            type="text"
            class={name === 'label' ? 'plate' : undefined}
            value={pair[name]}
            autocomplete="off"
            spellcheck={false}
            onInput={({ currentTarget }) => setPair({ ...pair, [name]: currentTarget.value })}
          />
        </label>
      ))}
      <p role="status">{why === undefined ? '' : `✗ That confirms nothing. ${why}`}</p>
      <Findings findings={document?.findings ?? []} />
      <button type="submit" class="next" disabled={!isWhole}>
        Note it in the family file
      </button>
    </form>
  );
}
