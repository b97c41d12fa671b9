import { signal } from '@preact/signals';
import { useState } from 'preact/hooks';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { lookAtRound, type RoomNow, roomsNow } from './round-state.ts';

interface LadderSeen {
  readonly isOver: boolean;
  readonly rungs: readonly {
    readonly name: string;
    readonly state: string;
    readonly title: string;
    readonly what: string;
  }[];
  readonly recovery: string | null;
  readonly stopAtOnce: readonly string[];
  readonly message: string;
}

export interface LadderDocument extends ReportDocument {
  readonly room: RoomNow | null;
  readonly ladder: LadderSeen | null;
}

interface RecordDocument extends ReportDocument {
  readonly recorded: readonly unknown[];
  readonly ladder: LadderSeen | null;
}

/** What was scanned for a room: the code of a card also names the stick. */
const scanned = signal<{ readonly room: string; readonly said: string } | undefined>(undefined);

export const pick = (room: string, said: string): void => {
  scanned.value = { room, said };
};

type Kind = 'done' | 'failed' | 'skipped' | 'not-yet' | 'approved';

const kinds: readonly { readonly kind: Kind; readonly name: string; readonly asks: string }[] = [
  { kind: 'done', name: 'done: it started again and shows a build', asks: 'Build on the About page now' },
  { kind: 'failed', name: 'failed', asks: 'The exact words on the screen' },
  { kind: 'skipped', name: 'skipped: nothing was done', asks: 'Why' },
  { kind: 'not-yet', name: 'not yet: it shows the build from before', asks: '' },
  { kind: 'approved', name: 'a wipe was approved', asks: 'Approved by' },
];

/** How it went in one room; what is odd about it is shown first, and noted only where somebody says why. */
export function RecordForm({ room, done }: { room: string; done: () => void }) {
  const [kind, setKind] = useState<Kind>('done');
  const [text, setText] = useState('');
  const [stick, setStick] = useState('');
  const [note, setNote] = useState('');
  const [more, setMore] = useState(nothingMore);
  const [because, setBecause] = useState('');
  const [answer, setAnswer] = useState<RecordDocument | undefined>(undefined);
  const now = roomsNow.value.get(room);
  const offered = kinds.filter((one) => one.kind !== 'not-yet' || now?.planned === 'over-the-air');
  const asks = kinds.find((one) => one.kind === kind)?.asks ?? '';
  const stopped = answer?.recorded.length === 0 ? answer.findings.filter(({ severity }) => severity === 'stop') : [];
  const send = async (event: Event): Promise<void> => {
    event.preventDefault();
    const accepted = because.trim() === '' ? {} : Object.fromEntries(stopped.map(({ code }) => [code, because]));
    const said = scanned.value?.room === room ? scanned.value.said : room;
    const words = { done: { build: text }, failed: { text }, skipped: { text }, 'not-yet': {}, approved: { by: text } };
    const body = {
      room: said,
      outcome: { kind, ...words[kind] },
      accepted,
      ...(stick === '' ? {} : { stick }),
      ...(note.trim() === '' ? {} : { note }),
      ...saidMore(more),
    };
    const made = await attempt(() => ask<RecordDocument>('POST', '/api/round/record', body));
    setAnswer(made);
    if (made === undefined || made.recorded.length === 0) return;
    setText('');
    setNote('');
    setMore(nothingMore);
    setBecause('');
    scanned.value = undefined;
    await lookAtRound();
    done();
  };
  return (
    <form class="record" aria-label={`How it went: ${room}`} onSubmit={(event) => void send(event)}>
      <p class="record-room">
        <Words>{room}</Words>
        {now === undefined ? null : (
          <span class="quiet block">
            {now.reached ?? now.running ?? 'build not known'} → {now.next?.build ?? now.target ?? 'nothing planned'}
          </span>
        )}
      </p>
      <fieldset class="choices">
        <legend>How did it go?</legend>
        {offered.map((one) => (
          <label key={one.kind}>
            <input type="radio" name="outcome" checked={kind === one.kind} onChange={() => setKind(one.kind)} />
            {one.name}
          </label>
        ))}
      </fieldset>
      {asks === '' ? null : <Line label={asks} value={text} set={setText} />}
      {kind === 'done' || kind === 'failed' ? (
        <Line
          label="Code on the tag of the stick"
          hint={now?.sticks.length ? `${now.sticks.join(' or ')} carries it` : 'where it is known'}
          value={stick}
          set={setStick}
        />
      ) : null}
      <Line label="Anything else worth keeping" value={note} set={setNote} />
      <More more={more} set={setMore} />
      {stopped.length === 0 ? null : (
        <div role="alert">
          <p>
            <b>Not noted yet.</b> Look at this first:
          </p>
          <Findings findings={stopped} />
          <Line label="It is meant all the same, because" value={because} set={setBecause} />
        </div>
      )}
      <p>
        <button type="submit" class="next" disabled={asks !== '' && text.trim() === ''}>
          {stopped.length === 0 ? 'Note it' : 'Note it all the same'}
        </button>
      </p>
      <div role="status">
        {answer === undefined || answer.recorded.length === 0 ? null : (
          <>
            <p class="said-yes">✓ Noted, and kept.</p>
            <Findings findings={answer.findings.filter(({ severity }) => severity !== 'note')} />
          </>
        )}
      </div>
      {answer?.ladder == null ? null : <LadderSteps ladder={answer.ladder} />}
    </form>
  );
}

const nothingMore = { at: '', label: '', serial: '', before: '', wiped: '' };

type MoreSaid = typeof nothingMore;

const moreAsked: readonly (readonly [keyof MoreSaid, string, string])[] = [
  ['at', 'When it was done', 'now; else such as 14:30 or 2026-09-14 14:30'],
  ['before', 'Build on its About page before', 'as the plan and earlier notes have it'],
  ['label', 'Label on its plate', 'where the room has several panels'],
  ['serial', 'Serial number on its plate', 'where the room has several panels'],
];

/** What is said of a visit only where it is not as usual. */
function More({ more, set }: { more: MoreSaid; set: (more: MoreSaid) => void }) {
  return (
    <details class="more-said">
      <summary>It was at another time, another panel, or not wiped as planned</summary>
      {moreAsked.map(([name, label, hint]) => (
        <Line key={name} label={label} hint={hint} value={more[name]} set={(text) => set({ ...more, [name]: text })} />
      ))}
      <label>
        What became of its data
        <select value={more.wiped} onChange={({ currentTarget }) => set({ ...more, wiped: currentTarget.value })}>
          <option value="">as the way has it</option>
          <option value="yes">the panel was wiped</option>
          <option value="no">the panel kept it, although the way wipes</option>
        </select>
      </label>
    </details>
  );
}

const saidMore = ({ wiped, ...texts }: MoreSaid) => ({
  ...Object.fromEntries(Object.entries(texts).filter(([, text]) => text.trim() !== '')),
  ...(wiped === '' ? {} : { wiped: wiped === 'yes' }),
});

interface LineWords {
  readonly label: string;
  readonly hint?: string;
  readonly value: string;
  readonly set: (text: string) => void;
}

const Line = ({ label, hint = '', value, set }: LineWords) => (
  <label>
    {label}
    <input
      type="text"
      autocomplete="off"
      spellcheck={false}
      placeholder={hint}
      value={value}
      onInput={({ currentTarget }) => set(currentTarget.value)}
    />
  </label>
);

const rungWords: Readonly<Record<string, string>> = {
  done: 'was done',
  next: 'NEXT',
  after: 'after that',
  waits: 'waits',
  closed: 'too late',
};

/** The next step, on the spot; the others below it, and what to send to the maker. */
function LadderSteps({ ladder: { rungs, recovery, stopAtOnce, message, isOver } }: { ladder: LadderSeen }) {
  const next = rungs.find(({ state }) => state === 'next');
  return (
    <section class="ladder" aria-label="What to do now">
      <h3>{isOver ? 'Two tries failed: no third one' : 'What to do now'}</h3>
      {next === undefined ? null : (
        <p class="next-rung">
          <b>{next.title}.</b> {next.what}
        </p>
      )}
      {recovery === null ? null : <p>{recovery}</p>}
      <ol>
        {rungs.map((rung) => (
          <li key={rung.name} class={rung.state}>
            {rung.title}: {rungWords[rung.state]}
          </li>
        ))}
      </ol>
      {stopAtOnce.map((line) => (
        <p key={line}>{line}</p>
      ))}
      <details>
        <summary>The message to the maker</summary>
        <p class="lines">
          <Words>{message}</Words>
        </p>
      </details>
    </section>
  );
}
