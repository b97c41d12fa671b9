import { useSignal } from '@preact/signals';
import { recordInWords } from '../core/rounds/records/read-visit.ts';
import type { RoomStatus } from '../core/rounds/records/round-status.ts';
import { addLine, lines, pocket } from './kept.ts';
import { clockOf, localTime, newId } from './phone.ts';
import { texts } from './texts.ts';

/** What is noted of this room, by the desk and here; an entry of this phone can be taken back, and stays. */
export function Entries({ one }: { readonly one: RoomStatus }) {
  const open = useSignal('');
  const why = useSignal('');
  const own = lines.value.map(({ record }) => record);
  const gone = new Set(own.flatMap((record) => (record.kind === 'withdrawn' ? [record.withdraws] : [])));
  const earlier = one.visits.map(({ visit }) => visit).filter(({ id }) => !own.some((record) => record.id === id));
  const mine = own.filter((record) => 'room' in record && record.room === one.room.key);
  if (earlier.length + mine.length === 0) return null;
  const takeBack = (id: string): void => {
    const now = localTime();
    const base = { schema: 'stickwright/round-record/1', id: newId(), at: now, notedAt: now, who: pocket.who } as const;
    addLine({ ...base, kind: 'withdrawn', withdraws: id, because: why.value.trim() });
    open.value = '';
    why.value = '';
  };
  return (
    <section class="entries" id="entries">
      <h2>{texts.entriesOf}</h2>
      <ul>
        {[...earlier, ...mine].map((record) => (
          <li class={gone.has(record.id) ? 'gone' : ''}>
            {texts.entryOf(
              clockOf(record.at),
              record.who,
              recordInWords(record as Parameters<typeof recordInWords>[0]),
            )}
            {gone.has(record.id) && <b> ({texts.takenBack})</b>}
            {mine.some(({ id }) => id === record.id) && !gone.has(record.id) && (
              <button
                type="button"
                class="small"
                onClick={() => {
                  open.value = record.id;
                }}
              >
                {texts.takeBack}
              </button>
            )}
            {open.value === record.id && (
              <form
                onSubmit={(event) => {
                  event.preventDefault();
                  if (why.value.trim().length >= 3) takeBack(record.id);
                }}
              >
                <label>
                  {texts.takeBackWhy}
                  <input
                    value={why.value}
                    onInput={(event) => {
                      why.value = event.currentTarget.value;
                    }}
                  />
                </label>
                <button type="submit">{texts.record}</button>
              </form>
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}
