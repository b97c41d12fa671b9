import type { TargetSeen } from '../../core/report/window-talk.ts';
import { Words } from '../sheet/marks.tsx';
import { Rights } from '../sheet/rights.tsx';
import { StickWords } from '../sheet/stick-words.tsx';
import { targets, targetsFailed, write } from '../state.ts';
import { chosenTargets, missingTargets, tickedTargets } from './chosen-targets.ts';
import { SlipPart } from './slip-part.tsx';

/** What is plugged in now, and what was named when the desk was started. */
export function StickPart() {
  const chosen = chosenTargets();
  const missing = missingTargets();
  return (
    <SlipPart
      number={4}
      title="The stick"
      entry={
        chosen.length + missing.length === 0 ? undefined : (
          <ul class="entries">
            {chosen.map((seen) => (
              <li key={seen.target}>
                <Words>{seen.name}</Words> <code>{seen.target}</code>
                <Rights seen={seen} />
              </li>
            ))}
            {missing.map((target) => (
              <Gone key={target} target={target} />
            ))}
          </ul>
        )
      }
    >
      {targetsFailed.value === undefined ? null : (
        <p class="notice">Could not look at the drives: {targetsFailed.value}</p>
      )}
      <fieldset class="choices sticks">
        <legend>Plugged in now; one or several</legend>
        {targets.value.map((target) => (
          <StickLine key={target.target} seen={target} />
        ))}
        {targets.value.length === 0 ? <p role="status">None. Plug one in: it shows here by itself.</p> : null}
      </fieldset>
      {missing.length === 0 ? null : (
        <ul class="entries">
          {missing.map((target) => (
            <Gone key={target} target={target} />
          ))}
        </ul>
      )}
    </SlipPart>
  );
}

const Gone = ({ target }: { target: string }) => (
  <li role="status">
    ✗ <Words>{target}</Words> is not plugged in any more. Plug it in again: it shows here by itself.{' '}
    <button type="button" class="plain" onClick={() => untick(target)}>
      go on without it<span class="unseen">: {target}</span>
    </button>
  </li>
);

const writeTicked = (ticked: readonly string[]): void => write({ sticks: ticked.join('\n') || undefined });

const untick = (target: string): void => writeTicked(tickedTargets().filter((one) => one !== target));

function StickLine({ seen }: { seen: TargetSeen }) {
  const { target, refused, device } = seen;
  const ticked = tickedTargets();
  const isIt = (one: string): boolean => one === target || one === device;
  const tick = (isOn: boolean): void => {
    const others = ticked.filter((one) => !isIt(one));
    writeTicked(isOn ? [...others, target] : others);
  };
  return (
    <label class="stick">
      <input
        type="checkbox"
        name="stick"
        value={target}
        checked={ticked.some(isIt)}
        disabled={refused !== undefined}
        onChange={({ currentTarget }) => tick(currentTarget.checked)}
      />
      <StickWords seen={seen} />
    </label>
  );
}
