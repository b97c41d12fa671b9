import { useEffect, useRef, useState } from 'preact/hooks';
import type { RoundRoom } from '../../core/model/round.ts';
import { countInWords } from '../../core/text/words.ts';
import { Words } from '../sheet/marks.tsx';
import { chosenRoom, progressWords, roomsNow } from './round-state.ts';

/**
 * Height of one line, as the style has it: of the size that somebody reads at, and higher where room and label stand
 * below each other. A line is never higher, whatever it holds.
 */
function lineHeight(): number {
  const rem = Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
  const is = (width: string): boolean => matchMedia(`(max-width: ${width})`).matches;
  return (is('20rem') ? 6.4 : is('40rem') ? 4.6 : 3) * rem;
}

/** Lines beyond the edge, so that a fast hand meets no gap. */
const spare = 8;

/** Rooms as on a roll of paper: of thousands only those lines are made that can be seen. */
export function RoomRoll({ rooms, of }: { rooms: readonly RoundRoom[]; of: number }) {
  const box = useRef<HTMLDivElement>(null);
  const [top, setTop] = useState(0);
  const [{ height }, setSize] = useState({ height: 480, width: 0 });
  const linePx = lineHeight();
  useEffect(() => {
    const seen = box.current;
    if (seen === null) return undefined;
    // A narrow one has higher lines.
    const watch = new ResizeObserver(() => setSize({ height: seen.clientHeight, width: seen.clientWidth }));
    watch.observe(seen);
    return () => watch.disconnect();
  }, []);
  const first = Math.max(0, Math.min(rooms.length - 1, Math.floor(top / linePx) - spare));
  const shown = rooms.slice(first, first + Math.ceil(height / linePx) + 2 * spare);
  const walk = (event: KeyboardEvent): void => {
    const at = Number((event.target as HTMLElement).dataset.at ?? Number.NaN);
    const to = stepOf(event.key, at, rooms.length, Math.floor(height / linePx) - 1);
    if (Number.isNaN(at) || to === undefined) return;
    event.preventDefault();
    goTo(box.current, to, linePx);
  };
  return (
    <div class="roll-holder">
      <p role="status">
        {rooms.length === of
          ? countInWords(of, 'room')
          : `${rooms.length.toLocaleString('en-US')} of ${countInWords(of, 'room')}`}
      </p>
      <div
        class="roll"
        ref={box}
        tabIndex={rooms.length === 0 ? 0 : -1}
        onScroll={({ currentTarget }) => setTop(currentTarget.scrollTop)}
      >
        <ul class="roll-paper" style={{ height: `${rooms.length * linePx}px` }} aria-label="Rooms">
          {shown.map((room, at) => (
            <Line
              key={room.key}
              room={room}
              at={first + at}
              of={rooms.length}
              topPx={(first + at) * linePx}
              walk={walk}
            />
          ))}
        </ul>
      </div>
    </div>
  );
}

function stepOf(key: string, at: number, count: number, page: number): number | undefined {
  const steps: Readonly<Record<string, number>> = {
    ArrowDown: at + 1,
    ArrowUp: at - 1,
    PageDown: at + page,
    PageUp: at - page,
    Home: 0,
    End: count - 1,
  };
  const to = steps[key];
  return to === undefined ? undefined : Math.max(0, Math.min(count - 1, to));
}

/** Brings the line into sight, and the focus there when it has been made. */
function goTo(seen: HTMLDivElement | null, to: number, linePx: number): void {
  if (seen === null) return;
  const line = to * linePx;
  if (line < seen.scrollTop) seen.scrollTop = line;
  else if (line + linePx > seen.scrollTop + seen.clientHeight) seen.scrollTop = line + linePx - seen.clientHeight;
  const focus = (left: number): void => {
    const button = seen.querySelector<HTMLButtonElement>(`button[data-at="${to}"]`);
    if (button !== null) button.focus({ preventScroll: true });
    else if (left > 0) requestAnimationFrame(() => focus(left - 1));
  };
  focus(10);
}

export const stateWords: Readonly<Record<RoundRoom['state'], string>> = {
  update: 'by stick',
  'over-the-air': 'over the air',
  'up-to-date': 'up to date',
  stopped: 'stopped',
  'cannot-tell': 'cannot be told',
};

interface LineWords {
  readonly room: RoundRoom;
  readonly at: number;
  readonly of: number;
  readonly topPx: number;
  readonly walk: (event: KeyboardEvent) => void;
}

function Line({ room, at, of, topPx, walk }: LineWords) {
  const { key, label, state, steps, wipes } = room;
  const now = roomsNow.value.get(key);
  const isHeld = state === 'stopped' || state === 'cannot-tell';
  const needs = state === 'update' ? steps.map(({ load }) => load).join(' → ') : stateWords[state];
  return (
    <li class="roll-line" aria-setsize={of} aria-posinset={at + 1} style={{ top: `${topPx}px` }}>
      <button
        type="button"
        data-at={at}
        onKeyDown={walk}
        class={wipes && state === 'update' ? 'wipes' : undefined}
        aria-pressed={chosenRoom.value === key}
        onClick={() => {
          chosenRoom.value = key;
        }}
      >
        <span class="roll-cell roll-room">
          <Words>{key}</Words>
        </span>
        <span class="roll-cell roll-label">
          <Words>{label}</Words>
        </span>
        <span class="roll-cell roll-needs">
          {isHeld ? '✗ ' : ''}
          {needs}
          {wipes && state === 'update' ? ', WIPES' : ''}
        </span>
        <span class="roll-cell roll-state">{now === undefined ? '' : progressWords[now.progress]}</span>
      </button>
    </li>
  );
}
