import type { TargetSeen } from '../../core/report/window-talk.ts';
import { roundedSize } from '../../core/text/words.ts';
import { Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { answers, targets, targetsFailed, write } from '../state.ts';

/** Ticked sticks; a path holds no line break, so they are kept as lines. */
export const chosenTargets = (): readonly string[] =>
  (answers.value.sticks ?? '').split('\n').filter((target) => targets.value.some((one) => one.target === target));

/** What is plugged in now, and what was named when the desk was started. */
export function StickPart() {
  return (
    <Part number={4} title="The stick">
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
    </Part>
  );
}

function StickLine({ seen }: { seen: TargetSeen }) {
  const { target, name, bytes, serial, holds, refused, rights } = seen;
  const chosen = chosenTargets();
  const tick = (isOn: boolean): void => {
    const others = chosen.filter((one) => one !== target);
    write({ sticks: (isOn ? [...others, target] : others).join('\n') || undefined });
  };
  return (
    <label class="stick">
      <input
        type="checkbox"
        name="stick"
        value={target}
        checked={chosen.includes(target)}
        disabled={refused !== undefined}
        onChange={({ currentTarget }) => tick(currentTarget.checked)}
      />
      <span>
        <b>
          <Words>{name}</Words>
        </b>
        {bytes === undefined ? '' : `, ${roundedSize(bytes)}`}
        {serial === undefined ? '' : `, serial ${serial}`} <code>{target}</code>
        {holds.map((volume) => (
          <span key={volume} class="quiet block">
            <Words>{volume}</Words>
          </span>
        ))}
        {refused === undefined ? null : <span class="block">✗ Not used: {refused}.</span>}
        {rights === undefined ? null : (
          <span class="block">
            {rights.cannot} <code>{rights.command}</code>
          </span>
        )}
      </span>
    </label>
  );
}
