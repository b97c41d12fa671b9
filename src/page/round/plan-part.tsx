import { signal } from '@preact/signals';
import type { Load, Round } from '../../core/model/round.ts';
import { hoursInWords } from '../../core/rounds/schedule/courses.ts';
import { countInWords, listInWords } from '../../core/text/words.ts';
import { Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { Lanes } from './lanes.tsx';
import { RoomCard } from './room-card.tsx';
import { RoomRoll } from './room-roll.tsx';
import { planned, round } from './round-state.ts';

/** The plan: its loads, its sticks over time, and every room with what it needs and why. */
export function PlanPart() {
  const plan = round.value?.plan;
  if (plan === undefined) return <p>No plan was made yet. Begin with the list.</p>;
  const said = planned.value?.findings.filter(({ severity }) => severity !== 'note') ?? [];
  return (
    <div>
      <Part number={1} title="The loads">
        <Loads plan={plan} />
        {said.length === 0 ? null : (
          <details>
            <summary>About the list and the packages ({said.length})</summary>
            <Findings findings={said} />
          </details>
        )}
      </Part>
      <Part number={2} title="Sticks over time">
        <Lanes plan={plan} />
      </Part>
      <Part number={3} title="Every room">
        <Rooms plan={plan} />
      </Part>
    </div>
  );
}

function Loads({ plan: { loads, schedule } }: { plan: Round }) {
  if (loads.length === 0) return <p>No room takes a stick.</p>;
  const preparations = schedule.turns.filter(({ room }) => room === null).length;
  return (
    <>
      <p>
        {countInWords(loads.length, 'load')}, {countInWords(schedule.sticks, 'stick')},{' '}
        {countInWords(preparations, 'preparation')}; {hoursInWords(schedule.totalMinutes)} from the first preparation to
        the last panel.
      </p>
      <ul class="loads">
        {loads.map((load) => (
          <LoadTag key={load.id} load={load} />
        ))}
      </ul>
    </>
  );
}

/** A load as on the tag of its stick. */
export function LoadTag({ load: { id, package: named, mode, wipes, rooms } }: { load: Load }) {
  return (
    <li class={wipes ? 'load wipes' : 'load'}>
      <b class="load-letter">{id}</b>
      <span class="load-words">
        <Words>{named.name}</Words>, {mode}
        {wipes ? <b class="block">WIPES THE PANEL</b> : null}
        <span class="quiet block">
          {countInWords(rooms.length, 'room')}: <Words>{listInWords(rooms, 6)}</Words>
        </span>
      </span>
    </li>
  );
}

const states = [
  ['', 'all rooms'],
  ['update', 'by stick'],
  ['over-the-air', 'over the air'],
  ['held', 'held: stopped, or cannot be told'],
  ['up-to-date', 'up to date'],
  ['wipes', 'wiped'],
] as const;

const wanted = signal<(typeof states)[number][0]>('');
const words = signal('');

function Rooms({ plan: { rooms } }: { plan: Round }) {
  const said = words.value.trim().toLowerCase();
  const shown = rooms.filter(
    (room) =>
      isWanted(room) &&
      (said === '' ||
        [room.key, room.label, room.serial, room.asset].some((text) => text?.toLowerCase().includes(said) === true)),
  );
  const held = rooms.filter(isHeld).length;
  return (
    <>
      {held === 0 ? null : (
        <p>
          <b>{countInWords(held, 'room')} held:</b> each says why, and no stick is planned for it until that is settled.
        </p>
      )}
      <search class="filters">
        <label>
          Look for
          <input
            type="search"
            value={words.value}
            placeholder="room, label, serial or asset tag"
            onInput={({ currentTarget }) => {
              words.value = currentTarget.value;
            }}
          />
        </label>
        <label>
          Show
          <select
            value={wanted.value}
            onChange={({ currentTarget }) => {
              wanted.value = currentTarget.value as (typeof states)[number][0];
            }}
          >
            {states.map(([state, name]) => (
              <option key={state} value={state}>
                {name}
              </option>
            ))}
          </select>
        </label>
      </search>
      <div class="roll-and-card">
        <RoomRoll rooms={shown} of={rooms.length} />
        <RoomCard />
      </div>
    </>
  );
}

const isHeld = ({ state }: Round['rooms'][number]): boolean => state === 'stopped' || state === 'cannot-tell';

function isWanted(room: Round['rooms'][number]): boolean {
  switch (wanted.value) {
    case '':
      return true;
    case 'held':
      return isHeld(room);
    case 'wipes':
      return room.wipes && room.state === 'update';
    default:
      return room.state === wanted.value;
  }
}
