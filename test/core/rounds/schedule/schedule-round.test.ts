import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type ScheduleQuestion,
  scheduleFirstCome,
  scheduleRound,
} from '../../../../src/core/rounds/schedule/schedule-round.ts';

const question: fc.Arbitrary<ScheduleQuestion> = fc
  .record({
    sticks: fc.integer({ min: 1, max: 4 }),
    visit: fc.integer({ min: 1, max: 45 }),
    setUp: fc.integer({ min: 0, max: 20 }),
    rooms: fc.array(fc.record({ wipes: fc.boolean(), loads: fc.subarray(['A', 'B', 'C'], { minLength: 1 }) }), {
      minLength: 1,
      maxLength: 12,
    }),
  })
  .map(({ sticks, visit, setUp, rooms }) => ({
    sticks,
    loads: ['A', 'B', 'C'].flatMap((id) =>
      [false, true].map((wipes) => ({ id: wipes ? `W${id}` : id, wipes, visitMinutes: visit, setUpMinutes: setUp })),
    ),
    rooms: rooms.map(({ wipes, loads }, at) => ({ key: `R${at}`, loads: loads.map((id) => (wipes ? `W${id}` : id)) })),
  }));

describe('the schedule of a round', () => {
  it('keeps what wipes strictly apart: no such stick is made before every other room is done', () => {
    fc.assert(
      fc.property(question, (asked) => {
        const { turns, totalMinutes } = scheduleRound(asked);
        const wiping = turns.filter(({ load }) => load.startsWith('W'));
        const others = turns.filter(({ load }) => !load.startsWith('W'));
        const over = others.reduce((latest, { endMinute }) => Math.max(latest, endMinute), 0);
        for (const turn of wiping) expect(turn.startMinute).toBeGreaterThanOrEqual(over);
        expect(turns.filter(({ room }) => room !== null)).toHaveLength(
          asked.rooms.flatMap(({ loads }) => loads).length,
        );
        expect(turns.reduce((latest, { endMinute }) => Math.max(latest, endMinute), 0)).toBe(totalMinutes);
        expect(totalMinutes).toBeLessThanOrEqual(scheduleFirstCome(asked).totalMinutes);
      }),
      { numRuns: 80 },
    );
  });

  it('without a number of sticks gives each load one of its own, prepared once, and other sticks to what wipes', () => {
    fc.assert(
      fc.property(question, (asked) => {
        const { turns, sticks } = scheduleRound({ ...asked, sticks: undefined });
        const used = new Set(asked.rooms.flatMap(({ loads }) => loads));
        const preparations = turns.filter(({ room }) => room === null);
        expect(preparations.map(({ load }) => load).toSorted()).toEqual([...used].toSorted());
        expect(new Set(preparations.map(({ stick }) => stick)).size).toBe(used.size);
        expect(sticks).toBeGreaterThanOrEqual(used.size);
        for (const turn of turns) {
          expect(preparations.find(({ stick }) => stick === turn.stick)?.load).toBe(turn.load);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('numbers sticks from 1 and tells preparations by a missing room', () => {
    const { turns, totalMinutes } = scheduleRound({
      sticks: 1,
      loads: [{ id: 'A', wipes: false, visitMinutes: 20, setUpMinutes: 5 }],
      rooms: [
        { key: 'Hall', loads: ['A'] },
        { key: 'Gym', loads: [] },
      ],
    });
    expect(turns).toEqual([
      { stick: 1, load: 'A', room: null, startMinute: 0, endMinute: 5 },
      { stick: 1, load: 'A', room: 'Hall', startMinute: 5, endMinute: 25 },
    ]);
    expect(totalMinutes).toBe(25);
  });

  it('schedules two thousand rooms', () => {
    const loads = Array.from({ length: 40 }, (_, at) => ({
      id: `L${at}`,
      wipes: at > 35,
      visitMinutes: 20 + (at % 5),
      setUpMinutes: 5,
    }));
    const rooms = Array.from({ length: 2000 }, (_, at) => ({ key: `R${at}`, loads: [`L${(at * 7) % 40}`] }));
    const began = performance.now();
    const { turns, totalMinutes } = scheduleRound({ sticks: 12, loads, rooms });
    process.stderr.write(
      `2,000 rooms, 40 loads, 12 sticks: scheduled in ${Math.round(performance.now() - began)} ms\n`,
    );
    expect(turns.filter(({ room }) => room !== null)).toHaveLength(2000);
    // No order can be shorter than all the work, evenly spread.
    const work = rooms.length * 22 + 40 * 5;
    expect(totalMinutes).toBeLessThan((work / 12) * 1.1);
  });
});
