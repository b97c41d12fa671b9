import { signal } from '@preact/signals';
import { placeOfPart } from '../../core/rounds/pocket/pocket-parts.ts';
import type { RoomProgress } from '../../core/rounds/records/round-status.ts';
import { Camera } from '../camera/camera.tsx';
import { Findings } from '../sheet/findings.tsx';
import { Part } from '../sheet/part.tsx';
import { attempt, trouble } from '../state.ts';
import { ask } from '../talk.ts';
import { Merge } from './merge.tsx';
import { type LadderDocument, pick, RecordForm } from './record-form.tsx';
import { RoomCard } from './room-card.tsx';
import { RoomRoll } from './room-roll.tsx';
import { chosenRoom, progressWords, roomsNow, round, status } from './round-state.ts';

const typed = signal('');
const answer = signal<LadderDocument | undefined>(undefined);
const wanted = signal<RoomProgress | 'left' | ''>('left');

/** Looks for the room of a card's code, or of what somebody typed. */
async function find(said: string): Promise<void> {
  if (said.trim() === '') return;
  const found = await attempt(() => ask<LadderDocument>('POST', '/api/round/record/room', { said }));
  if (found === undefined) return;
  answer.value = found;
  if (found.room === null) return;
  chosenRoom.value = found.room.room;
  pick(found.room.room, said);
  typed.value = '';
}

function hear([code = '']: readonly string[]): boolean {
  if (placeOfPart(code) === undefined) void find(code);
  else trouble.value = 'That is a code of a phone’s entries, not of a room: film it in part 3, “What others noted”.';
  return true;
}

/** What was done: a card's code scanned, a room picked, how it went; and what others noted. */
export function ResultsPart() {
  if (round.value?.plan === undefined) return <p>No plan was made yet. Begin with the list.</p>;
  const room = chosenRoom.value;
  return (
    <div>
      <Part number={1} title="Which room">
        <form
          class="scan"
          onSubmit={(event) => {
            event.preventDefault();
            void find(typed.value);
          }}
        >
          <label>
            Scan a card, or type a room, an asset tag or a serial
            <input
              type="text"
              name="scanned"
              class="plate"
              autocomplete="off"
              spellcheck={false}
              value={typed.value}
              onInput={({ currentTarget }) => {
                typed.value = currentTarget.value;
              }}
            />
          </label>
          <button type="submit">Find it</button>
          <Camera title="Use the camera" otherwise="Type the code, or pick the room below." heard={hear} />
        </form>
        {answer.value?.room === null ? <Findings findings={answer.value.findings} /> : null}
        <Rooms />
      </Part>
      <Part number={2} title="How it went">
        {room === undefined ? (
          <p class="quiet">Pick a room first.</p>
        ) : (
          <RecordForm
            key={room}
            room={room}
            done={() => document.querySelector<HTMLInputElement>('.scan input')?.focus()}
          />
        )}
      </Part>
      <Part number={3} title="What others noted">
        <Merge />
      </Part>
    </div>
  );
}

const isDone = (progress: RoomProgress): boolean => progress === 'done' || progress === 'up-to-date';

function Rooms() {
  const { plan } = round.value ?? {};
  if (plan === undefined) return null;
  const shown = plan.rooms.filter(({ key }) => {
    const progress = roomsNow.value.get(key)?.progress ?? 'open';
    return wanted.value === '' || (wanted.value === 'left' ? !isDone(progress) : progress === wanted.value);
  });
  return (
    <>
      <div class="filters">
        <label>
          Show
          <select
            value={wanted.value}
            onChange={({ currentTarget }) => {
              wanted.value = currentTarget.value as typeof wanted.value;
            }}
          >
            <option value="left">what is not done</option>
            <option value="">all rooms</option>
            {(Object.keys(progressWords) as RoomProgress[]).map((one) => (
              <option key={one} value={one}>
                {progressWords[one]}: {status.value?.counts[one] ?? 0}
              </option>
            ))}
          </select>
        </label>
      </div>
      <div class="roll-and-card">
        <RoomRoll rooms={shown} of={plan.rooms.length} />
        <RoomCard />
      </div>
    </>
  );
}
