import { isFindingCode } from '../../core/findings/catalogue.ts';
import { isAcceptable, isReason } from '../../core/findings/finding.ts';
import { acceptedUnder, asksForLeftovers, leftoverChoices } from '../../core/guide/slip.ts';
import { leftoverPolicies } from '../../core/model/mode.ts';
import type { FindingSeen } from '../sheet/findings.tsx';
import { answers, write } from '../state.ts';

/** What lifts a stop, where something here can: what to do with what lies there, or a reason that is written down. */
export function Cure({ found: { code, severity, acceptedBecause } }: { found: FindingSeen }) {
  if (!isFindingCode(code)) return null;
  if (acceptedBecause !== undefined) return <Withdraw code={code} />;
  if (severity !== 'stop') return null;
  return (
    <>
      {asksForLeftovers(code) ? <Leftovers code={code} /> : null}
      {isAcceptable(code) ? <Accept code={code} /> : null}
    </>
  );
}

const Leftovers = ({ code }: { code: string }) => (
  <fieldset class="choices">
    <legend>What shall become of them?</legend>
    {leftoverPolicies.map((policy) => (
      <label key={policy}>
        <input
          type="radio"
          name={`leftovers ${code}`}
          value={policy}
          checked={(answers.value.leftovers ?? 'stop') === policy}
          onChange={() => write({ leftovers: policy })}
        />
        {leftoverChoices[policy]}
      </label>
    ))}
    <p class="quiet">Every one of them stands in the plan that is shown next, before anything is touched.</p>
  </fieldset>
);

function Accept({ code }: { code: string }) {
  const id = acceptedUnder + code;
  const reason = answers.value[id] ?? '';
  return (
    <details class="accept" open={reason !== ''}>
      <summary>Accept it, with a reason</summary>
      <label>
        Why it may be, for all who come after (it is written into the stick's record)
        <textarea
          rows={2}
          value={reason}
          onInput={({ currentTarget }) => write({ [id]: currentTarget.value || undefined })}
        />
      </label>
      <p class="quiet" role="status">
        {reason === ''
          ? 'Without a reason it stays a stop.'
          : isReason(reason)
            ? 'Noted. Look again what would be written: it stands there as accepted, with the reason.'
            : 'That is too short to be a reason.'}
      </p>
    </details>
  );
}

const Withdraw = ({ code }: { code: string }) => (
  <p>
    <button type="button" class="plain" onClick={() => write({ [acceptedUnder + code]: undefined })}>
      I do not accept it any more<span class="unseen">: {code}</span>
    </button>
  </p>
);
