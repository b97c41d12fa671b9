import type { ComponentChildren } from 'preact';
import { modes } from '../../core/model/mode.ts';
import type { TargetSeen } from '../../core/report/window-talk.ts';
import { attempt, desk } from '../state.ts';
import { ask } from '../talk.ts';
import { ClearLine } from './clearing-part.tsx';

interface FormWords {
  readonly seen: TargetSeen;
  readonly isBusy: boolean;
}

/** What can be done with one stick by itself; what erases shows first what would be lost. */
export function StickForms({ seen: { target, doubt }, isBusy }: FormWords) {
  const isStick = doubt === undefined;
  const common = { target, isBusy };
  return (
    <div class="stick-forms">
      <Order {...common} title="Verify" path="verify" button="Compare it with its record">
        <Line name="label" words="The label of the panel it is about to go to (may stay empty)" />
        <Choice name="mode" words="What you are about to do" empty="not said" choices={modes} />
        <Tick name="quick" words="Names and sizes only; the answer is at best unproven" />
        <Tick name="replugged" words="It was pulled and plugged in again since it was written" />
      </Order>
      <Order {...common} title="It came back" path="returned" button="Look at what it brings back">
        <Line name="label" words="The label of the panel it was for (may stay empty)" />
        <Tick name="quick" words="Names and sizes only" />
        <Tick name="keep" words="Copy what a panel left on it to this desk" />
        {isStick ? (
          <Tick name="clear" words="Then show what would go, and clear it for its next job" />
        ) : (
          <p>
            Only the command clears it for its next job, and it asks nothing more: <ClearLine target={target} />
          </p>
        )}
      </Order>
      {isStick ? <Erasing {...common} /> : null}
    </div>
  );
}

const Erasing = (common: { readonly target: string; readonly isBusy: boolean }) => (
  <>
    <Order {...common} title="Format" path="format" button="Show what would be lost" erases>
      <Choice name="mode" words="How the panel will take it" choices={modes} />
      <Choice
        name="family"
        words="Whose panels"
        empty="what panels usually take"
        choices={desk.value?.families.map(({ family }) => family) ?? []}
      />
      <Choice name="fileSystem" words="File system" empty="what they take best" choices={['fat32', 'fat16', 'exfat']} />
      <Line name="volumeLabel" words="Name of the volume, at most 11 letters" most={11} />
    </Order>
    <Order {...common} title="Prove" path="prove" button="Show what would be lost" erases>
      <Choice
        name="how"
        words="What is written and read back"
        choices={['whole', 'sample']}
        names={['all of it', 'some hundred places: a quick answer']}
      />
    </Order>
    <Order {...common} title="Try its free part" path="prove" button="Write there and read it back">
      <input type="hidden" name="how" value="free-space" />
      <p>It begins at once, and no file is touched. On a stick of false size files may be lost already.</p>
    </Order>
  </>
);

interface OrderWords {
  readonly target: string;
  readonly isBusy: boolean;
  readonly title: string;
  readonly path: string;
  readonly button: string;
  readonly erases?: true;
  readonly children: ComponentChildren;
}

const ticks: ReadonlySet<string> = new Set(['quick', 'replugged', 'keep', 'clear']);

/** A form that begins a piece of work; what is empty is left out. */
function Order({ target, isBusy, title, path, button, erases, children }: OrderWords) {
  const send = (event: SubmitEvent & { readonly currentTarget: HTMLFormElement }): void => {
    event.preventDefault();
    const given = [...new FormData(event.currentTarget)].filter(([, value]) => value !== '');
    const order = Object.fromEntries(given.map(([name, value]) => [name, ticks.has(name) ? true : String(value)]));
    void attempt(() => ask('POST', `/api/sticks/${path}`, { ...order, target }));
  };
  return (
    <details name={`work on ${target}`} class={erases ? 'erases' : undefined}>
      <summary>
        {title}
        {erases ? <span class="quiet"> (erases)</span> : null}
      </summary>
      <form onSubmit={send} aria-label={`${title}: ${target}`}>
        {children}
        <button type="submit" disabled={isBusy}>
          {button}
        </button>
      </form>
    </details>
  );
}

const Line = ({ name, words, most = 1000 }: { name: string; words: string; most?: number }) => (
  <label>
    {words}
    <input type="text" name={name} maxLength={most} autocomplete="off" spellcheck={false} />
  </label>
);

const Tick = ({ name, words }: { name: string; words: string }) => (
  <label class="tick">
    <input type="checkbox" name={name} /> {words}
  </label>
);

interface ChoiceWords {
  readonly name: string;
  readonly words: string;
  /** What it says where nothing is chosen; without it something must be. */
  readonly empty?: string;
  readonly choices: readonly string[];
  readonly names?: readonly string[];
}

const Choice = ({ name, words, empty, choices, names = choices }: ChoiceWords) => (
  <label>
    {words}
    <select name={name}>
      {empty === undefined ? null : <option value="">{empty}</option>}
      {choices.map((value, at) => (
        <option key={value} value={value}>
          {names[at]}
        </option>
      ))}
    </select>
  </label>
);
