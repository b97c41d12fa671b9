import { signal } from '@preact/signals';
import { useEffect, useState } from 'preact/hooks';
import { type Setting, settings } from '../../core/model/settings.ts';
import type { SettingsSeen } from '../../core/report/window-talk.ts';
import { WordLines, Words } from '../sheet/marks.tsx';
import { attempt, desk } from '../state.ts';
import { ask, Refused } from '../talk.ts';

const seen = signal<SettingsSeen | undefined>(undefined);

async function read(): Promise<void> {
  seen.value = await attempt(() => ask<SettingsSeen>('GET', '/api/set-up/settings'));
}

/** Every setting, with what it is for, its value, and who says so. CHANGED hears when one is another. */
export function SettingsPart({ changed }: { changed: () => void }) {
  // Also where another page has changed one.
  useEffect(() => {
    void read();
  }, [desk.value]);
  const now = seen.value;
  return (
    <section class="settings" aria-labelledby="settings">
      <h2 id="settings">Settings</h2>
      <p>
        A change holds from now on, in this window and for every command of this account; what is under way goes on as
        it was begun.{now === undefined ? '' : ' Kept in '}
        {now === undefined ? null : <code>{now.path}</code>}
      </p>
      {now === undefined
        ? null
        : settings.map((one) => <One key={one.name} setting={one} now={now} changed={changed} />)}
    </section>
  );
}

interface OneWords {
  readonly setting: Setting;
  readonly now: SettingsSeen;
  readonly changed: () => void;
}

function One({ setting, now, changed }: OneWords) {
  const { name, what, otherwise } = setting;
  const { value = null, from = 'default', objection = null } = now.settings.find((one) => one.name === name) ?? {};
  const kept = now.kept[name];
  return (
    <section class="part" aria-labelledby={`setting-${name}`}>
      <h3 id={`setting-${name}`}>{titleOf(name)}</h3>
      <div class="part-body">
        <p class="quiet">{what}</p>
        <Value>{value === null ? otherwise : linesOf(value, setting, now)}</Value>
        <p>{{ default: 'As it comes.', file: 'Set here.', environment: beatenBy(setting, now) }[from]}</p>
        {from === 'environment' && kept !== undefined ? (
          <>
            <p>Kept here all the same, for when nothing beats it:</p>
            <Value>{linesOf(kept, setting, now)}</Value>
          </>
        ) : null}
        {objection === null ? null : (
          <p>
            ✗ It cannot be used: <Words>{objection}</Words>
            {from === 'file' ? ' Until it is mended, this desk goes on with what held before.' : ''}
          </p>
        )}
        <Change
          setting={setting}
          kept={linesOf(kept ?? '', setting, now)}
          isKept={kept !== undefined}
          changed={changed}
        />
      </div>
    </section>
  );
}

const titleOf = (name: string): string => `${name.charAt(0).toUpperCase()}${name.slice(1).replaceAll('-', ' ')}`;

/** Of several paths one a line. */
const linesOf = (value: string, { kind }: Setting, { between }: SettingsSeen): string =>
  kind === 'paths' ? value.split(between).join('\n') : value;

const Value = ({ children }: { children: string }) => (
  <p class="entry">
    <WordLines>{children}</WordLines>
  </p>
);

const beatenBy = ({ name, word, variable }: Setting, { byWord }: SettingsSeen): string =>
  byWord.includes(name)
    ? `Said by the word ${word}, with which this desk was opened: it beats what is set here.`
    : `Said by the variable ${variable}: it beats what is set here.`;

interface ChangeWords {
  readonly setting: Setting;
  readonly kept: string;
  readonly isKept: boolean;
  readonly changed: () => void;
}

/** What is refused is said where it was written, and stays there to be mended. */
function Change({ setting, kept, isKept, changed }: ChangeWords) {
  const { name, kind } = setting;
  const field = `value-${name}`;
  const [text, setText] = useState(kept);
  const [said, setSaid] = useState('');
  const send = async (values: readonly string[] | null): Promise<void> => {
    setSaid('Being noted …');
    await attempt(async () => {
      try {
        seen.value = await ask<SettingsSeen>('PUT', '/api/set-up/settings', { name, values });
        setSaid(values === null ? '✓ Taken back.' : '✓ It is set.');
        if (values === null) setText('');
        changed();
      } catch (error) {
        const isRefused = error instanceof Refused && error.status === 409;
        setSaid(isRefused ? `✗ ${error.message}` : '');
        if (!isRefused) throw error;
      }
    });
  };
  const set = (event: Event): void => {
    event.preventDefault();
    const lines = text.split('\n').map((line) => line.trim());
    void send(lines.filter((line) => line !== ''));
  };
  // The button goes; whoever works by keyboard stays here.
  const toField = (): void => document.getElementById(field)?.focus();
  const write = ({ currentTarget }: { currentTarget: { value: string } }): void => setText(currentTarget.value);
  return (
    <details>
      <summary>
        Change it<span class="unseen">: {titleOf(name)}</span>
      </summary>
      <form onSubmit={set} aria-label={titleOf(name)}>
        <label for={field}>{asked[kind]}</label>
        {kind === 'choice' ? (
          <select id={field} value={text} onChange={write}>
            {['', ...(setting.values ?? [])].map((one) => (
              <option key={one}>{one}</option>
            ))}
          </select>
        ) : kind === 'paths' ? (
          <textarea id={field} rows={3} value={text} spellcheck={false} onInput={write} />
        ) : (
          <input id={field} type="text" value={text} autocomplete="off" spellcheck={false} onInput={write} />
        )}
        <p role="status">{said}</p>
        <p class="buttons">
          <button type="submit" class="next">
            Set it
          </button>
          {isKept ? (
            <button type="button" onClick={() => void send(null).then(toField)}>
              Take it back
            </button>
          ) : null}
        </p>
      </form>
    </details>
  );
}

const asked: Readonly<Record<Setting['kind'], string>> = {
  text: 'What it is to be',
  path: 'Its path, written whole',
  paths: 'The paths, written whole, one on each line',
  choice: 'One of these',
  zone: 'A zone such as Europe/Lisbon or UTC',
};
