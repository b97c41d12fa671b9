import { type RoomField, roomFields } from '../../core/model/room.ts';
import type { ListSeen } from '../../core/report/round-talk.ts';
import { Words } from '../sheet/marks.tsx';
import { Part } from '../sheet/part.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { lookAtRound } from './round-state.ts';

export const fieldWords: Readonly<Record<RoomField, string>> = {
  room: 'room',
  label: 'label on the panel',
  running: 'running build',
  serial: 'serial number',
  asset: 'asset tag',
  notes: 'notes',
  mode: 'way asked for',
  approval: 'wipe approved by',
  starts: 'does it start',
  air: 'its own update',
  settings: 'who may set it',
  keep: 'what is worth keeping',
};

const byWords = {
  pointed: 'as you pointed',
  remembered: 'as you said of an earlier list',
  heading: 'by its heading',
} as const;

/** Each column with its heading and first cells; what it is taken for is pointed at, and remembered. */
export function Columns({ list }: { list: ListSeen }) {
  return (
    <Part number={2} title="Its columns">
      {list.missing.length === 0 ? null : (
        <p class="notice" role="status">
          Still to be pointed at: {list.missing.map((field) => fieldWords[field]).join(' and ')}.
        </p>
      )}
      <ul class="list-columns">
        {list.columns.map((one) => (
          <li key={one.column} class={one.field === undefined ? 'column free' : 'column'}>
            <label>
              <span class="column-heading">
                <Words>{one.heading === '' ? `column ${one.column + 1}` : one.heading}</Words>
              </span>
              <select
                value={one.field ?? ''}
                onChange={({ currentTarget }) => void point(list, one.column, currentTarget.value)}
              >
                <option value="">nothing of use</option>
                {roomFields.map((field) => (
                  <option key={field} value={field}>
                    {fieldWords[field]}
                  </option>
                ))}
              </select>
            </label>
            <p class="quiet">
              {one.by !== undefined
                ? byWords[one.by]
                : one.perhaps === undefined
                  ? 'not read'
                  : `perhaps: ${fieldWords[one.perhaps]}`}
            </p>
            <ol class="cells">
              {one.cells.map((cell, at) => (
                <li key={at}>
                  <Words>{cell}</Words>
                </li>
              ))}
            </ol>
          </li>
        ))}
      </ul>
    </Part>
  );
}

/** A column holds one field, and a field stands in one column. */
async function point({ columns }: ListSeen, column: number, chosen: string): Promise<void> {
  const others = columns.filter((one) => one.column !== column && one.field !== chosen);
  const pointed = Object.fromEntries(
    [...others.map(({ field, column: at }) => [field, at] as const), [chosen, column] as const].filter(
      ([field]) => field !== undefined && field !== '',
    ),
  );
  await attempt(() => ask('PUT', '/api/round/list', { pointed }));
  await lookAtRound();
}
