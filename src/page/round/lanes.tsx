import { useMemo } from 'preact/hooks';
import type { Round } from '../../core/model/round.ts';
import { type Course, clockOf, coursesOf, endOf, hoursInWords } from '../../core/rounds/schedule/courses.ts';
import { countInWords, listInWords } from '../../core/text/words.ts';
import { Words } from '../sheet/marks.tsx';

/** More lanes than that nobody compares at a glance; the table below has all. */
const mostLanes = 40;

/** Which stick carries which load when: a lane for each stick, and the same in words below. What wipes is hatched. */
export function Lanes({ plan }: { plan: Round }) {
  const { schedule, loads } = plan;
  const sticks = useMemo(() => [...coursesOf(schedule.turns)], [schedule]);
  if (sticks.length === 0) return <p>No stick is needed.</p>;
  const wiping = new Set(loads.flatMap(({ id, wipes }) => (wipes ? [id] : [])));
  const total = Math.max(1, schedule.totalMinutes);
  return (
    <figure class="lanes">
      <div class="lane-picture" aria-hidden="true">
        <div class="lane-clock">
          {marksOf(total).map((minute) => (
            <span key={minute} class="lane-mark" style={{ left: `${(minute / total) * 100}%` }}>
              {clockOf(minute)}
            </span>
          ))}
        </div>
        {sticks.slice(0, mostLanes).map(([stick, courses]) => (
          <div key={stick} class="lane">
            <b>{stick}</b>
            <div class="lane-line">
              {courses.map((course) => (
                <Block key={course.prepared.startMinute} course={course} total={total} wiping={wiping} />
              ))}
            </div>
          </div>
        ))}
      </div>
      <figcaption class="quiet">
        A narrow box is a preparation at the desk; the box behind it is the way through its rooms, with the letter of
        the load. Slanted bars: the load wipes.
        {sticks.length > mostLanes ? ` The first ${mostLanes} of ${sticks.length} sticks are drawn.` : ''}
      </figcaption>
      <details open={schedule.turns.length < 400}>
        <summary>The same in words</summary>
        <table>
          <caption>The order of the sticks, in hours:minutes from the beginning</caption>
          <thead>
            <tr>
              <th scope="col">Stick</th>
              <th scope="col">From</th>
              <th scope="col">Until</th>
              <th scope="col">Load</th>
              <th scope="col">Rooms, in their order</th>
            </tr>
          </thead>
          <tbody>
            {sticks.flatMap(([stick, courses]) =>
              courses.map((course) => (
                <Row key={`${stick} ${course.prepared.startMinute}`} course={course} wiping={wiping} />
              )),
            )}
          </tbody>
        </table>
      </details>
    </figure>
  );
}

/** Whole hours, or so few of them that they do not run into each other. */
function marksOf(total: number): readonly number[] {
  const step = [15, 30, 60, 120, 240, 480, 960, 1920, 3840].find((minutes) => total / minutes <= 6) ?? 7680;
  return Array.from({ length: Math.floor(total / step) + 1 }, (_, at) => at * step);
}

interface BlockWords {
  readonly course: Course;
  readonly total: number;
  readonly wiping: ReadonlySet<string>;
}

function Block({ course, total, wiping }: BlockWords) {
  const { prepared, visits } = course;
  const place = (from: number, until: number) => ({
    left: `${(from / total) * 100}%`,
    width: `${(Math.max(0, until - from) / total) * 100}%`,
  });
  const wipes = wiping.has(prepared.load) ? ' wipes' : '';
  return (
    <>
      <span class={`block preparing${wipes}`} style={place(prepared.startMinute, prepared.endMinute)} />
      {visits.length === 0 ? null : (
        <span
          class={`block walking${wipes}`}
          style={place(visits[0]?.startMinute ?? prepared.endMinute, endOf(course))}
          title={`load ${prepared.load}: ${countInWords(visits.length, 'room')}`}
        >
          <i>{prepared.load}</i>
        </span>
      )}
    </>
  );
}

function Row({ course, wiping }: Omit<BlockWords, 'total'>) {
  const { stick, prepared, visits } = course;
  const rooms = visits.map(({ room }) => room ?? '');
  const wipes = wiping.has(prepared.load);
  return (
    <tr class={wipes ? 'wipes' : undefined}>
      <th scope="row">{stick}</th>
      <td>{clockOf(prepared.startMinute)}</td>
      <td>{clockOf(endOf(course))}</td>
      <td class="whole">
        {prepared.load}
        {wipes ? ', WIPES' : ''}
      </td>
      <td>
        {rooms.length <= 8 ? (
          <Words>{rooms.join(', ')}</Words>
        ) : (
          <details>
            <summary>
              <Words>{listInWords(rooms, 4)}</Words>, {hoursInWords(endOf(course) - prepared.endMinute)}
            </summary>
            <Words>{rooms.join(', ')}</Words>
          </details>
        )}
      </td>
    </tr>
  );
}
