import { isFindingCode } from '../../core/findings/catalogue.ts';
import { isAcceptable, isReason } from '../../core/findings/finding.ts';
import { asksForLeftovers, leftoverChoices } from '../../core/guide/slip.ts';
import { type LeftoverPolicy, leftoverPolicies } from '../../core/model/mode.ts';
import type { FindingSeen } from './findings.tsx';

/** What somebody said so far of the stops of one job, and where it is kept. */
export interface Said {
  /** Undefined where nothing lies on a stick. */
  readonly leftovers?: { readonly policy: LeftoverPolicy; readonly choose: (policy: LeftoverPolicy) => void };
  /** As it is typed; empty where nothing was. */
  readonly reasonFor: (code: string) => string;
  /** Undefined takes it away. */
  readonly accept: (code: string, reason: string | undefined) => void;
  /** The button that goes on with it. */
  readonly next: string;
  /** Where the reason is written down. */
  readonly keptIn: string;
}

interface CureWords {
  readonly found: FindingSeen;
  readonly said: Said;
}

/** What lifts a stop, where something here can: what to do with what lies there, or a reason that is written down. */
export function Cure({ found: { code, severity, acceptedBecause }, said }: CureWords) {
  if (!isFindingCode(code)) return null;
  if (acceptedBecause !== undefined) return <Withdraw code={code} said={said} />;
  if (severity !== 'stop') return null;
  return (
    <>
      {asksForLeftovers(code) ? <Leftovers code={code} said={said} /> : null}
      {isAcceptable(code) ? <Accept code={code} said={said} /> : null}
    </>
  );
}

interface CodeWords {
  readonly code: string;
  readonly said: Said;
}

const Leftovers = ({ code, said: { leftovers } }: CodeWords) =>
  leftovers === undefined ? null : (
    <fieldset class="choices">
      <legend>What shall become of them?</legend>
      {leftoverPolicies.map((policy) => (
        <label key={policy}>
          <input
            type="radio"
            name={`leftovers ${code}`}
            value={policy}
            checked={leftovers.policy === policy}
            onChange={() => leftovers.choose(policy)}
          />
          {leftoverChoices[policy]}
        </label>
      ))}
      <p class="quiet">Every one of them stands in the plan that is shown next, before anything is touched.</p>
    </fieldset>
  );

function Accept({ code, said: { reasonFor, accept, next, keptIn } }: CodeWords) {
  const reason = reasonFor(code);
  return (
    <details class="accept" open={reason !== ''}>
      <summary>
        Accept it, with a reason<span class="unseen">: {code}</span>
      </summary>
      <label>
        Why it may be, for all who come after (it is written into {keptIn})
        <textarea
          rows={2}
          value={reason}
          onInput={({ currentTarget }) => accept(code, currentTarget.value || undefined)}
        />
      </label>
      <p class="quiet" role="status">
        {reason === ''
          ? 'Without a reason it stays a stop.'
          : isReason(reason)
            ? `Noted. ${next}: it stands there as accepted, with the reason.`
            : 'That is too short to be a reason.'}
      </p>
    </details>
  );
}

const Withdraw = ({ code, said }: CodeWords) => (
  <p>
    <button type="button" class="plain" onClick={() => said.accept(code, undefined)}>
      I do not accept it any more<span class="unseen">: {code}</span>
    </button>
  </p>
);
