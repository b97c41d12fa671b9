import { useState } from 'preact/hooks';
import type { Manifest } from '../../core/model/manifest.ts';
import type { EjectOutcome } from '../../core/report/medium-reports.ts';
import { alwaysMind, panelAdvice, rulesOfStick } from '../../core/rounds/plan/usual-practice.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { attempt, desk } from '../state.ts';
import { ask } from '../talk.ts';

/** Lets go of a stick, and says whether it can be pulled. */
export function Eject({ target, isBusy = false }: { target: string; isBusy?: boolean }) {
  const [outcome, setOutcome] = useState<EjectOutcome | 'asked' | undefined>(undefined);
  const eject = async (): Promise<void> => {
    setOutcome('asked');
    setOutcome(await attempt(() => ask<EjectOutcome>('POST', '/api/eject', { target })));
  };
  return (
    <>
      <button type="button" disabled={isBusy || outcome === 'asked'} onClick={() => void eject()}>
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
      return `✗ Do not pull it yet: ${reason} ${inWindow(todo)}`;
  }
}

/** As `verify --steps` and the card have it: the family's own words, and the cautions that always hold. */
export function AtThePanel({ manifest }: { manifest: Manifest }) {
  const { mode, keepsData } = manifest;
  const rules = rulesOfStick(manifest, desk.value?.families ?? []);
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
