import { computed, useSignal } from '@preact/signals';
import type { RoundRoom } from '../core/model/round.ts';
import { readCardCode } from '../core/rounds/records/card-code.ts';
import { findRoom, roomInWords } from '../core/rounds/records/find-room.ts';
import { normaliseStickCode } from '../core/rounds/records/order-records.ts';
import type { RoomStatus } from '../core/rounds/records/round-status.ts';
import { broken, lines, pocket, rooms, status, storage } from './kept.ts';
import { Hatch, Told } from './marks.tsx';
import { canShare, hasCamera } from './phone.ts';
import { Scan } from './scan.tsx';
import { texts } from './texts.ts';

export const roomLink = (key: string): string => `#room-${pocket.order.indexOf(key)}`;

/** Whether somebody still goes there: what is next on the walk. */
const isDue = ({ progress }: RoomStatus): boolean =>
  ['prepared', 'open', 'under-way', 'over-the-air'].includes(progress);

/** Its stick is there, and where it wipes somebody said yes. */
const canBeDone = ({ progress, sticks, next, approval }: RoomStatus): boolean =>
  progress === 'over-the-air' || (sticks.length > 0 && (next?.load.wipes !== true || approval !== null));

const due = computed(() => {
  const all = rooms.value.filter(isDue);
  return all.find(canBeDone) ?? all[0];
});

/** Where to go from a room of which something was recorded. */
export const NextRoom = () =>
  due.value === undefined ? (
    <p>
      {texts.noneLeft}{' '}
      <a class="button" href="#out">
        {texts.giveOut}
      </a>
    </p>
  ) : (
    <p>
      <a class="button" href={roomLink(due.value.room.key)}>
        {texts.nextRoom} <bdi>{due.value.room.room}</bdi>
      </a>
    </p>
  );

/** The list in walking order, and the ways to a room: scan, photo, type. */
export function Rooms() {
  return (
    <>
      <Phone />
      <FindRoom />
      {due.value === undefined && <NextRoom />}
      <ol class="rooms">
        {rooms.value.map((one) => (
          <RoomRow one={one} isNext={one === due.value} />
        ))}
      </ol>
    </>
  );
}

function RoomRow({ one, isNext }: { readonly one: RoomStatus; readonly isNext: boolean }) {
  const { room, progress, next } = one;
  const wipes = next?.load.wipes === true && progress !== 'done';
  return (
    <li>
      <a class={`plate room ${progress}${isNext ? ' next' : ''}`} href={roomLink(room.key)}>
        {wipes && <Hatch />}
        <span class="name" dir="auto">
          {room.room}
        </span>
        <span class="stamp">
          {isNext ? `${texts.next}: ` : ''}
          {texts.progress[progress]}
        </span>
        <span class="under">
          <bdi>{room.label}</bdi>
          {one.sticks.length > 0 ? `, ${texts.stick.toLowerCase()} ${one.sticks.join(' / ')}` : ''}
          {wipes ? `, ${texts.wipes}` : ''}
        </span>
      </a>
    </li>
  );
}

/** Said on opening: what this browser gives, and that the file is whole without it. */
function Phone() {
  const says = [
    storage.value === 'kept' ? texts.phoneLines.storage : texts.phoneLines.noStorage,
    hasCamera() ? texts.phoneLines.camera : texts.phoneLines.noCamera,
    canShare(new File([''], 'a.txt', { type: 'text/plain' })) ? texts.phoneLines.share : texts.phoneLines.noShare,
  ];
  return (
    <>
      {broken.value.length > 0 && <Told kind="mind">{texts.broken(broken.value.length)}</Told>}
      <details open={lines.value.length === 0}>
        <summary>{texts.phone}</summary>
        <ul>
          {says.map((one) => (
            <li>{one}</li>
          ))}
        </ul>
      </details>
    </>
  );
}

type Found =
  | { readonly state: 'none'; readonly text: string }
  | { readonly state: 'several'; readonly title: string; readonly rooms: readonly RoundRoom[] };

/** Where a stick's code was typed or its tag scanned: the rooms that it is for. */
function roomsOfStick(text: string): { readonly stick: string; readonly rooms: readonly RoundRoom[] } | undefined {
  const stick = readCardCode(text)?.stick ?? normaliseStickCode(text);
  const found = rooms.value.filter(({ sticks }) => sticks.includes(stick)).map(({ room }) => room);
  return found.length === 0 ? undefined : { stick, rooms: found };
}

function FindRoom() {
  const typed = useSignal('');
  const found = useSignal<Found | undefined>(undefined);

  const go = (text: string): boolean => {
    const answer = findRoom(text, status.value.round.rooms, { label: undefined, serial: undefined });
    if (answer.state === 'one') {
      location.hash = roomLink(answer.room.key);
      return true;
    }
    const bySticks = roomsOfStick(text);
    if (bySticks !== undefined)
      found.value = { state: 'several', title: texts.tagFor(bySticks.stick), rooms: bySticks.rooms };
    else if (answer.state === 'several')
      found.value = { state: 'several', title: texts.severalRooms, rooms: answer.rooms };
    else found.value = { state: 'none', text };
    return found.value.state === 'several';
  };

  return (
    <section class="find" id="find">
      <Scan title={texts.scanRoom} heard={go} />
      <form
        class="row"
        onSubmit={(event) => {
          event.preventDefault();
          if (typed.value.trim() !== '') go(typed.value);
        }}
      >
        <label>
          {texts.typeRoom}
          <input
            value={typed.value}
            onInput={(event) => {
              typed.value = event.currentTarget.value;
            }}
            autocomplete="off"
            autocapitalize="characters"
            enterkeyhint="go"
          />
        </label>
        <button type="submit">{texts.find}</button>
      </form>
      {found.value?.state === 'none' && <Told kind="stop">{texts.noRoom(found.value.text)}</Told>}
      {found.value?.state === 'several' && (
        <Told kind="mind">
          <p>{found.value.title}</p>
          {found.value.rooms.map((room) => (
            <a class="button" href={roomLink(room.key)}>
              {roomInWords(room)}
            </a>
          ))}
        </Told>
      )}
    </section>
  );
}
