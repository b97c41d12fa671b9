import { useState } from 'preact/hooks';
import type { Manifest } from '../../core/model/manifest.ts';
import type { EjectOutcome } from '../../core/report/medium-reports.ts';
import { alwaysMind, panelAdvice } from '../../core/rounds/plan/usual-practice.ts';
import type { StickInDocument } from '../sheet/answers.ts';
import { WipeBand, Words } from '../sheet/marks.tsx';
import { attempt, desk } from '../state.ts';
import { ask } from '../talk.ts';

/** A stick that carries its record: its code, its tag, how it is let go of, and what to do at the panel. */
export function StickDone({ stick: { target, state, manifest }, id }: { stick: StickInDocument; id: string }) {
  if (manifest === null || (state !== 'written' && state !== 'unchanged')) return null;
  return (
    <>
      <p class="stick-code">
        Stick code <b>{manifest.stick}</b>, for <b>{manifest.label.text}</b>
      </p>
      {manifest.keepsData ? null : (
        <WipeBand>EVERYTHING ON THE PANEL IS WIPED. Only with approval, and after a backup.</WipeBand>
      )}
      <p class="buttons">
        <button type="button" onClick={() => void attempt(() => openTag(id, target))}>
          Tag to print<span class="unseen">: {manifest.stick}</span>
        </button>
        <Eject target={target} />
      </p>
      <AtThePanel manifest={manifest} />
      <p>
        When it is out, plug it in again and verify it before the walk. Into no other panel: compare its plate with{' '}
        <Words>{manifest.label.text}</Words>.
      </p>
    </>
  );
}

/** A page of its own, at an address that is good once; the window is opened by the press, so that nothing blocks it. */
async function openTag(id: string, target: string): Promise<void> {
  const sheet = window.open('', '_blank');
  try {
    const { address } = await ask<{ address: string }>('POST', `/api/work/${id}/tag`, { target });
    if (sheet === null) location.assign(address);
    else sheet.location.replace(address);
  } catch (error) {
    sheet?.close();
    throw error;
  }
}

function Eject({ target }: { target: string }) {
  const [outcome, setOutcome] = useState<EjectOutcome | 'asked' | undefined>(undefined);
  const eject = async (): Promise<void> => {
    setOutcome('asked');
    setOutcome(await attempt(() => ask<EjectOutcome>('POST', '/api/eject', { target })));
  };
  return (
    <>
      <button type="button" disabled={outcome === 'asked'} onClick={() => void eject()}>
        Let go of it<span class="unseen">: {target}</span>
      </button>
      <span role="status">
        {outcome === undefined ? '' : outcome === 'asked' ? 'Being let go of …' : inWords(outcome)}
      </span>
    </>
  );
}

function inWords({ state, reason = '', todo = '' }: EjectOutcome): string {
  switch (state) {
    case 'pull-it-now':
      return '✓ You can pull it now.';
    case 'nothing-to-eject':
      return `Nothing to let go of: ${reason}.`;
    case 'not-yet':
      return `✗ Do not pull it yet: ${reason} ${todo}`;
  }
}

/** As `verify --steps` and the card have it: the family's own words, and the cautions that always hold. */
function AtThePanel({ manifest: { mode, keepsData, family } }: { manifest: Manifest }) {
  const known = desk.value?.families.find((one) => one.family === family?.name);
  const rules = known?.modes[mode];
  if (rules === undefined) return null;
  const { port, minutes, steps, cautions, never, after } = panelAdvice(rules, mode);
  return (
    <details class="at-the-panel">
      <summary>At the panel, step by step</summary>
      <dl>
        <dt>Port</dt>
        <dd>{port}</dd>
        <dt>Wait</dt>
        <dd>
          {minutes === null
            ? "as long as the maker's document states, and a margin"
            : `${minutes.from} to ${minutes.to} min, and a margin`}
        </dd>
      </dl>
      <ol>
        {steps.map((step) => (
          <li key={step}>{step}</li>
        ))}
      </ol>
      <ul>
        {never.map((what) => (
          <li key={what}>Never {what}.</li>
        ))}
      </ul>
      <p>Afterwards: {after.join('; ')}.</p>
      <ul>
        {[...(keepsData ? [] : ['Everything on the panel is wiped.']), ...cautions, ...alwaysMind].map((mind) => (
          <li key={mind}>{mind}</li>
        ))}
      </ul>
    </details>
  );
}
