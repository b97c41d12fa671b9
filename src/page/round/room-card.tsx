import { useState } from 'preact/hooks';
import type { RoundRoom } from '../../core/model/round.ts';
import { inWindow } from '../../core/text/in-window.ts';
import { When, WipeBand, Words } from '../sheet/marks.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { openSheet } from './paper-part.tsx';
import { stateWords } from './room-roll.tsx';
import { chosenRoom, list, lookAtRound, type RoomNow, roomsNow, round, wantedRows } from './round-state.ts';

/** The card of the room that was picked, as the printed one says it: what it needs, and why. */
export function RoomCard() {
  const plan = round.value?.plan;
  const room = plan?.rooms.find(({ key }) => key === chosenRoom.value);
  if (room === undefined) return <p class="card-place quiet">Pick a room: its card lies here.</p>;
  return (
    <article class="room-card" aria-label={`Card of ${room.key}`}>
      <h3>
        <Words>{room.key}</Words>
      </h3>
      <p class="plate-small">
        <Words>{room.label}</Words>
      </p>
      {room.wipes && room.state === 'update' ? <WipeBand>EVERYTHING ON THE PANEL IS WIPED.</WipeBand> : null}
      <dl>
        <Fact name="Needs">{needOf(room)}</Fact>
        <Fact name="Runs">{room.running ?? 'not known'}</Fact>
        <Fact name="Serial">{room.serial}</Fact>
        <Fact name="Asset tag">{room.asset}</Fact>
        <Fact name="Notes">{room.notes}</Fact>
        <Fact name="Wipe approved by">{room.approval}</Fact>
      </dl>
      {room.way === undefined ? null : (
        <>
          <p>{room.way.reason}</p>
          {room.way.todo.length === 0 ? null : (
            <ol>
              {room.way.todo.map((step) => (
                <li key={step}>
                  <Words>{step}</Words>
                </li>
              ))}
            </ol>
          )}
        </>
      )}
      {room.findings.map((found) => (
        <div key={`${found.code} ${found.subject}`} class={`finding ${found.severity}`}>
          <p>{found.seen}</p>
          <p>
            <b>To do:</b> {inWindow(found.todo)}
          </p>
        </div>
      ))}
      <p class="buttons">
        {room.state === 'update' || room.state === 'over-the-air' ? (
          <button type="button" onClick={() => void openSheet('cards', [room.key])}>
            Print this card
          </button>
        ) : null}
        <Mend room={room} />
      </p>
      <Visits now={roomsNow.value.get(room.key)} />
    </article>
  );
}

const needOf = ({ state, steps, target }: RoundRoom): string =>
  state === 'update'
    ? steps
        .map(({ load, build, because }) => `load ${load}, to ${build}${because === null ? '' : ` (${because})`}`)
        .join('; then ')
    : `${stateWords[state]}${target === null || state === 'up-to-date' ? '' : `, to ${target}`}`;

const Fact = ({ name, children }: { name: string; children: string | null }) =>
  children === null || children === '' ? null : (
    <div>
      <dt>{name}</dt>
      <dd>
        <Words>{children}</Words>
      </dd>
    </div>
  );

/** Only while the list that the plan was made from lies on the desk. */
function Mend({ room: { row, state } }: { room: RoundRoom }) {
  if (list.value == null || (state !== 'stopped' && state !== 'cannot-tell')) return null;
  return (
    <button
      type="button"
      onClick={() => {
        wantedRows.value = [...new Set([...wantedRows.value, row])];
        location.hash = '#round/list';
      }}
    >
      Mend its row in the list
    </button>
  );
}

function Visits({ now }: { now: RoomNow | undefined }) {
  if (now === undefined || now.visits.length === 0) return null;
  return (
    <>
      <h4>What was done</h4>
      <ul class="visits">
        {now.visits.map(({ id, at, who, outcome, buildAfter, stick, text }) => (
          <li key={id}>
            <When>{at}</When>, <Words>{who}</Words>: {outcome}
            {buildAfter === null ? '' : `, shows ${buildAfter}`}
            {stick === null ? '' : `, stick ${stick}`}
            {text === null ? null : (
              <span class="block">
                “<Words>{text}</Words>”
              </span>
            )}
            <Withdraw id={id} />
          </li>
        ))}
      </ul>
    </>
  );
}

/** A line is never changed: it is said of it that it does not count, and why. */
function Withdraw({ id }: { id: string }) {
  const [because, setBecause] = useState('');
  const send = (event: Event): void => {
    event.preventDefault();
    void attempt(() => ask('POST', '/api/round/record/withdraw', { id, because })).then(lookAtRound);
  };
  return (
    <details>
      <summary>That was wrong</summary>
      <form onSubmit={send}>
        <label>
          It does not count, because
          <input
            type="text"
            autocomplete="off"
            value={because}
            onInput={({ currentTarget }) => setBecause(currentTarget.value)}
          />
        </label>
        <button type="submit" disabled={because.trim().length < 3}>
          Withdraw it
        </button>
      </form>
    </details>
  );
}
