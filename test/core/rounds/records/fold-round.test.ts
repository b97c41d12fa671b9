import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Round } from '../../../../src/core/model/round.ts';
import type { RoundRecord, RoundRecordOf } from '../../../../src/core/model/round-record.ts';
import { foldRound } from '../../../../src/core/rounds/records/fold-round.ts';
import { isVisit, relateBuilds } from '../../../../src/core/rounds/records/read-visit.ts';
import type { RoomStatus, RoundStatus } from '../../../../src/core/rounds/records/round-status.ts';
import { loadFamilies } from '../../../../src/io/families/load-families.ts';
import { recordArbitrary } from '../../../fixtures/records/record-arbitrary.ts';
import { makeRecord, preparedOf, sampleRecords, sampleRound } from '../../../fixtures/round.ts';

type StickVisit = RoundRecordOf<'visit'>;

const relate = relateBuilds(await loadFamilies(['samples/families']));
const round = sampleRound();
const fold = (...records: readonly RoundRecord[]): RoundStatus => foldRound(round, records, relate);
const roomOf = (status: RoundStatus, key: string): RoomStatus => {
  const found = status.rooms.find(({ room }) => room.key === key);
  if (found === undefined) throw new Error(`no ${key}`);
  return found;
};

/** A visit on the round's morning: `at('8:40')` is 08:40 local. */
const at = (time: string): string => `2026-09-21T${time.padStart(5, '0')}:00+02:00`;
const visit = (
  number: number,
  room: string,
  outcome: StickVisit['outcome'],
  rest: Partial<StickVisit> = {},
): RoundRecord =>
  makeRecord('visit', 100 + number, {
    room,
    outcome,
    label: null,
    serial: null,
    asset: null,
    stick: null,
    package: null,
    mode: 'in-os',
    buildBefore: 'reed.746',
    buildAfter: null,
    wiped: false,
    text: null,
    ...rest,
  });
const done = (number: number, room: string, build: string, rest: Partial<StickVisit> = {}) =>
  visit(number, room, 'done', { buildAfter: build, ...rest });
const failed = (number: number, room: string, rest: Partial<StickVisit> = {}) => visit(number, room, 'failed', rest);
const withdrawn = (number: number, withdraws: string): RoundRecord =>
  makeRecord('withdrawn', 900 + number, { withdraws, because: 'wrong room' });
const loadOf = (id: string): Round['loads'][number] => {
  const found = round.loads.find((load) => load.id === id);
  if (found === undefined) throw new Error(`no load ${id}`);
  return found;
};
const packageOf = (id: string) => {
  const { name, sha256, build } = loadOf(id).package;
  return { name, sha256, build };
};

describe('a room', () => {
  it('is open, then prepared, then what its last visit came to', () => {
    expect(roomOf(fold(), 'Room 2.14').progress).toBe('open');
    const ready = sampleRecords(round);
    expect(roomOf(fold(...ready), 'Room 2.14')).toMatchObject({ progress: 'prepared', sticks: ['CLY-FTJ'] });
    const first = failed(1, 'Room 2.14', { at: at('8:40') });
    expect(roomOf(fold(...ready, first), 'Room 2.14')).toMatchObject({ progress: 'failed', failures: 1 });
    const second = done(2, 'Room 2.14', 'reed.1717', { at: at('9:40') });
    const after = roomOf(fold(...ready, second, first), 'Room 2.14');
    expect(after).toMatchObject({ progress: 'done', failures: 1, reached: 'reed.1717', next: undefined });
    expect(after.tries).toEqual([]);
  });

  it('says what the plan said where nobody was', () => {
    const status = fold();
    expect(roomOf(status, 'Room 2.16').progress).toBe('up-to-date');
    expect(roomOf(status, 'Music 1').progress).toBe('held');
    expect(roomOf(status, 'Staff room').progress).toBe('held');
    expect(status.counts).toMatchObject({ open: 6, held: 2, 'up-to-date': 1, done: 0 });
  });

  it('with a bridge is done only at its target, whichever way the build is written', () => {
    const bridge = done(1, 'Room 1.03', 'reed.608', { at: at('8:40') });
    const half = roomOf(fold(bridge), 'Room 1.03');
    expect(half).toMatchObject({ progress: 'under-way', reached: 'reed.608', next: { build: 'reed.1717', number: 1 } });
    const again = failed(2, 'Room 1.03', { at: at('9:20') });
    expect(roomOf(fold(bridge, again), 'Room 1.03')).toMatchObject({
      progress: 'failed',
      next: { build: 'reed.1717' },
    });
    const target = done(3, 'Room 1.03', ' reed.1717 ', { at: at('10:00') });
    expect(roomOf(fold(bridge, again, target), 'Room 1.03').progress).toBe('done');
  });

  it('compares builds as its family writes them: 3.10.2 with and without a v is one build', () => {
    const hall = done(1, 'Assembly hall', 'V3.10.02_20260305', { mode: 'recovery', wiped: true });
    expect(roomOf(fold(hall), 'Assembly hall')).toMatchObject({ progress: 'done', wiped: true });
    const withoutFamilies = foldRound(round, [hall], relateBuilds([]));
    expect(roomOf(withoutFamilies, 'Assembly hall').progress).toBe('unclear');
  });

  it('that still shows its old build failed, whatever was said; one that shows something else is not clear', () => {
    expect(roomOf(fold(done(1, 'Room 2.14', 'reed.746')), 'Room 2.14')).toMatchObject({
      progress: 'failed',
      failures: 1,
    });
    const other = fold(done(1, 'Room 2.14', 'reed.1430'));
    expect(roomOf(other, 'Room 2.14').progress).toBe('unclear');
    expect(other.findings.map(({ code }) => code)).toContain('record/unclear-room');
    expect(roomOf(fold(visit(1, 'Room 2.14', 'done')), 'Room 2.14').progress).toBe('unclear');
  });

  it('forgets a line that was withdrawn', () => {
    const wrong = done(1, 'Room 2.14', 'reed.1717');
    expect(roomOf(fold(wrong, withdrawn(1, wrong.id)), 'Room 2.14').progress).toBe('open');
  });

  it('is found by serial or asset tag where a new plan named it anew', () => {
    const renamed = done(1, 'Room 2.14 north', 'reed.1717', { serial: 'sd75b-2291-0087' });
    expect(roomOf(fold(renamed), 'Room 2.14').progress).toBe('done');
    const stray = done(2, 'Room 9.99', 'reed.1717');
    const status = fold(stray);
    expect(status.strays).toEqual([stray]);
    expect(status.findings).toMatchObject([{ code: 'record/room-gone', subject: 'Room 9.99' }]);
  });

  it('takes the approval of a wipe from the records, else from the list', () => {
    const approval = makeRecord('approval', 1, {
      room: 'Library',
      label: null,
      serial: null,
      asset: null,
      by: 'D. Harrow',
    });
    expect(roomOf(fold(), 'Assembly hall').approval).toBe('D. Harrow, 18 Sept 2026');
    expect(roomOf(fold(), 'Library').approval).toBeNull();
    expect(roomOf(fold(approval), 'Library').approval).toBe('D. Harrow');
  });
});

describe('two people at one room', () => {
  const codes = (status: RoundStatus) => status.findings.map(({ code }) => code);
  const first = done(1, 'Room 2.14', 'reed.1717', { at: at('8:40'), who: 'Ada' });

  it('who disagree within less than one update takes are shown, both with their words', () => {
    const second = failed(2, 'Room 2.14', { at: at('8:49'), who: 'Bo', text: 'No update file found' });
    const status = fold(second, first);
    expect(codes(status)).toContain('record/disagreement');
    expect(status.findings.find(({ code }) => code === 'record/disagreement')?.facts).toEqual({
      first: { who: 'Ada', at: '2026-09-21T08:40:00+02:00', said: 'it shows reed.1717' },
      second: { who: 'Bo', at: '2026-09-21T08:49:00+02:00', said: 'failed ("No update file found")' },
    });
  });

  it('who say the same, or have had time for another update, do not disagree', () => {
    expect(codes(fold(first, done(2, 'Room 2.14', 'reed.1717', { at: at('8:49'), who: 'Bo' })))).toEqual([]);
    expect(codes(fold(first, failed(2, 'Room 2.14', { at: at('10:00'), who: 'Bo' })))).toEqual([]);
    expect(codes(fold(first, failed(2, 'Room 2.14', { at: at('8:49'), who: ' ada' })))).toEqual([]);
  });

  it('are settled by a later visit', () => {
    const second = failed(2, 'Room 2.14', { at: at('8:49'), who: 'Bo' });
    const third = done(3, 'Room 2.14', 'reed.1717', { at: at('11:00'), who: 'Cy' });
    expect(codes(fold(first, second, third))).toEqual([]);
  });
});

describe('a stick', () => {
  it('is ready, out, back and cleared as its lines have it', () => {
    const ready = preparedOf(loadOf('A'), 'CLY-FTJ', 1, at('7:00'));
    const out = failed(1, 'Room 2.14', { at: at('8:40'), stick: 'CLY-FTJ', package: packageOf('A') });
    const back = makeRecord('returned', 50, {
      stick: 'CLY-FTJ',
      state: 'visited',
      left: ['LOST.DIR'],
      cleared: false,
      at: at('9:00'),
    });
    const cleared = makeRecord('returned', 51, {
      stick: 'CLY-FTJ',
      state: 'visited',
      left: [],
      cleared: true,
      at: at('9:30'),
    });
    const states = [[ready], [ready, out], [ready, out, back], [ready, out, back, cleared]].map(
      (records) => fold(...records).sticks[0]?.state,
    );
    expect(states).toEqual(['ready', 'was-out', 'returned', 'cleared']);
    const stick = fold(ready, out, back).sticks[0];
    expect(stick).toMatchObject({ code: 'CLY-FTJ', load: { id: 'A' }, failures: 1, returned: { left: ['LOST.DIR'] } });
    expect(stick?.visits).toMatchObject([{ room: 'Room 2.14' }]);
    expect(fold(out).sticks[0]?.state).toBe('unknown');
    expect(roomOf(fold(ready, cleared), 'Room 2.14').progress).toBe('open');
  });
});

describe('what fails more than once', () => {
  it('is named by variant, package and stick, with all tries of it and the exact words', () => {
    const brought = { stick: 'CLY-FTJ', package: packageOf('A'), text: 'E17' };
    const status = fold(
      failed(1, 'Room 2.14', { ...brought, at: at('8:00') }),
      failed(2, 'Room 2.15', { ...brought, at: at('9:00') }),
      done(3, 'Room 1.03', 'reed.608', { stick: 'WHN-3PA', package: packageOf('B') }),
      visit(4, 'Library', 'skipped', { text: 'locked' }),
    );
    expect(status.repeats).toEqual([
      {
        by: 'variant',
        name: 'Sedge classroom panels: series 5B, generation SECOND, factory K2',
        failures: 2,
        tries: 3,
        rooms: ['Room 2.14', 'Room 2.15'],
        texts: ['E17'],
      },
      expect.objectContaining({ by: 'package', name: 'reed.1717_5B_second_K2.zip', failures: 2, tries: 2 }),
      expect.objectContaining({ by: 'stick', name: 'CLY-FTJ', failures: 2, tries: 2 }),
    ]);
    expect(status.findings.map(({ code }) => code)).toEqual(Array(3).fill('record/fails-repeatedly'));
  });

  it('is nothing where everything failed once', () => {
    expect(fold(failed(1, 'Room 2.14', { stick: 'CLY-FTJ' }), failed(2, 'Workshop 2')).repeats).toEqual([]);
  });
});

describe('folding', () => {
  it('gives one answer for any order of the records, counts every room once and every try no more than once', () => {
    const keys = ['Room 1', 'Room 2', 'Room 3'];
    const rooms = sampleRound()
      .rooms.slice(0, 3)
      .map((room, index) => ({ ...room, key: keys[index] ?? '' }));
    const small: Round = { ...round, rooms };
    const shuffled = fc
      .uniqueArray(recordArbitrary, { selector: ({ id }) => id, maxLength: 14 })
      .chain((all) => fc.tuple(fc.constant(all), fc.shuffledSubarray(all, { minLength: all.length })));
    fc.assert(
      fc.property(shuffled, ([all, other]) => {
        const status = foldRound(small, all, relate);
        expect(foldRound(small, other, relate)).toEqual(status);
        expect(Object.values(status.counts).reduce((sum, count) => sum + count, 0)).toBe(3);
        const visits = status.rooms.reduce((sum, room) => sum + room.visits.length, 0);
        const gone = new Set(all.flatMap((one) => (one.kind === 'withdrawn' ? [one.withdraws] : [])));
        expect(visits).toBe(all.filter((one) => isVisit(one) && !gone.has(one.id)).length);
        for (const room of status.rooms) expect(room.tries.length).toBeLessThanOrEqual(room.failures);
      }),
    );
  });
});
