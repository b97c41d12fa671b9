import { useState } from 'preact/hooks';
import { stageWords, stateWords } from '../../core/report/job-meters.ts';
import type { Agreement, MeterSeen, WorkSeen } from '../../core/report/window-talk.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { WipeBand } from './marks.tsx';
import { useFocus } from './take-focus.ts';

const percent = (share: number): number => Math.min(99, Math.floor(share * 100));

const minutes = (seconds: number | undefined): string => {
  if (seconds === undefined) return '';
  const whole = Math.ceil(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')} left`;
};

/** How far the work is, per stick and together. */
export function Meters({ work: { meters, together, state, id, silent, targets } }: { work: WorkSeen }) {
  const stop = (): void => void attempt(() => ask('POST', `/api/work/${id}/stop`));
  return (
    <section class="meters" aria-label="Under way" tabIndex={-1} ref={useFocus<HTMLElement>()}>
      {meters.map((meter) => (
        <MeterLine key={meter.target} meter={meter} />
      ))}
      {together === undefined ? null : (
        <div class="meter together">
          <p>
            All {countInWords(together.sticks, 'stick')}: {percent(together.share)} % {minutes(together.leftSeconds)}
          </p>
          <progress aria-label="All sticks" value={together.share} max={1} />
        </div>
      )}
      {silent === undefined ? null : <Silent silent={silent} of={targets.length} />}
      <p>
        {state === 'stopping' ? (
          'Stopping at a clean place …'
        ) : (
          <button type="button" onClick={stop}>
            Stop at a clean place
          </button>
        )}{' '}
        {state === 'stopping' && silent !== undefined ? (
          <button type="button" onClick={stop}>
            End it where it stands
          </button>
        ) : null}
      </p>
    </section>
  );
}

/** A slow stick and one that hangs look alike; the one at the desk sees its lamp. */
function Silent({ silent: { targets, seconds }, of }: { silent: NonNullable<WorkSeen['silent']>; of: number }) {
  const [one = 'This work', ...more] = targets;
  return (
    <div class="notice">
      {/* The seconds change all the time; they are not to be read out. */}
      <p role="status">
        {more.length > 0 ? 'One of these sticks' : <bdi>{one}</bdi>} gives no sign any more
        {more.length > 0 ? (
          <>
            : <bdi>{targets.join(', ')}</bdi>
          </>
        ) : null}
        . A slow stick may only be busy with what it took: look at its lamp. If nothing moves there, pull it out: that
        frees what waits for it, and the same job finishes it later.{' '}
        {of > 1 ? 'The other sticks of this work wait with it, and go on then. ' : ''}Other work goes on meanwhile.
      </p>
      <p class="quiet">Silent for {seconds} s.</p>
    </div>
  );
}

function MeterLine({ meter }: { meter: MeterSeen }) {
  const { target, stage, step, steps, doneBytes, totalBytes, share, bytesPerSecond, leftSeconds, ended } = meter;
  if (ended !== undefined)
    return (
      <p class="meter">
        <bdi>{target}</bdi>: {stateWords[ended]}
      </p>
    );
  const bytes =
    totalBytes === 0
      ? ''
      : `, ${roundedSize(doneBytes)} of ${roundedSize(totalBytes)}, ${roundedSize(bytesPerSecond)}/s`;
  return (
    <div class="meter">
      <p>
        <bdi>{target}</bdi>: {percent(share)} %, {step === undefined ? '' : `step ${step} of ${steps}, `}
        {stageWords[stage].toLowerCase()}
        {bytes} {minutes(leftSeconds)}
      </p>
      <progress aria-label={target} value={share} max={1} />
    </div>
  );
}

const panelIsWiped = 'EVERYTHING ON THE PANEL IS WIPED. Only with approval, and after a backup.';

/** One agreement that names drive and consequence; what wipes or erases is typed, never pressed by habit. */
export function Agree({ id, agreement: { words, wipes, lost, buttons, typed } }: { id: string; agreement: Agreement }) {
  const [text, setText] = useState('');
  const agree = (event: Event): void => {
    event.preventDefault();
    void attempt(() => ask('POST', `/api/work/${id}/agree`, typed === undefined ? {} : { typed: text }));
  };
  return (
    <form
      class={wipes ? 'agree wipes' : 'agree'}
      onSubmit={agree}
      aria-label="Agreement"
      tabIndex={-1}
      ref={useFocus<HTMLFormElement>()}
    >
      {wipes ? <WipeBand>{lost ?? panelIsWiped}</WipeBand> : null}
      <p class="agree-words">
        <bdi>{words}</bdi>
      </p>
      {typed === undefined ? null : (
        <label>
          Type {typed.what} to agree
          <input
            type="text"
            value={text}
            autocomplete="off"
            spellcheck={false}
            onInput={({ currentTarget }) => setText(currentTarget.value)}
          />
        </label>
      )}
      <p class="buttons">
        <button type="submit" class="agree-button" disabled={typed !== undefined && text.trim() === ''}>
          {buttons?.yes ?? (wipes ? 'Write the stick that wipes' : 'Write as shown')}
        </button>
        <button type="button" onClick={() => void attempt(() => ask('POST', `/api/work/${id}/decline`))}>
          {buttons?.no ?? 'No, write nothing'}
        </button>
      </p>
    </form>
  );
}

/** Why a piece of work has no answer, and what to do. */
export const WorkError = ({ error }: { error: WorkSeen['error'] }) =>
  error === undefined ? null : (
    <div class="finding stop" role="alert">
      <p>
        <b>{inWindow(error.message)}</b> <code>{error.code}</code>
      </p>
      <p>{inWindow(error.todo)}</p>
    </div>
  );
