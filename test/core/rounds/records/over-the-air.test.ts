import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { verdictOf } from '../../../../src/core/findings/finding.ts';
import type { Round, RoundRoom } from '../../../../src/core/model/round.ts';
import type { RoundRecord } from '../../../../src/core/model/round-record.ts';
import { failureLadder } from '../../../../src/core/rounds/records/failure-ladder.ts';
import { foldRound } from '../../../../src/core/rounds/records/fold-round.ts';
import { makeVisit, type SaidOutcome } from '../../../../src/core/rounds/records/make-visit.ts';
import { roundRecordWithDigest } from '../../../../src/core/rounds/records/own-digests.ts';
import { relateBuilds } from '../../../../src/core/rounds/records/read-visit.ts';
import { roundVerdict } from '../../../../src/core/rounds/records/round-status.ts';
import { renderRoundLadder } from '../../../../src/render/text/render-round-record.ts';
import { renderRoundStatus } from '../../../../src/render/text/render-round-status.ts';
import { idOf, sha256 } from '../../../fixtures/records/record-arbitrary.ts';
import { inAir, makeLoad, makeRoom, makeRound } from '../../../fixtures/round.ts';
import { sampleFamilies } from '../../label/families.ts';

// The mildest way first, and the order of the ways after it, are common practice, no source.
const relate = relateBuilds(await sampleFamilies());
const look = { colour: false, columns: 80 };
const airRoom = (key: string, answers: Record<string, string> = { air: 'offers' }) =>
  makeRoom({ key, state: 'over-the-air', steps: [], way: inAir({ answers }) });
const byStick = makeRoom({ key: 'Room 2.14' });
const roundOf = (...rooms: readonly RoundRoom[]): Round =>
  makeRound({ rooms: [...rooms, byStick], loads: [makeLoad('A', 'sedge', 'in-os')] });
const round = roundOf(airRoom('Hall'));

let count = 0;
/** A record as `round record` makes it. */
function say(of: Round, before: readonly RoundRecord[], room: string, outcome: SaidOutcome, more = {}) {
  count += 1;
  const at = new Date(Date.UTC(2026, 8, 22, 6, count)).toISOString();
  const none = { label: undefined, serial: undefined, stick: undefined, before: undefined, wiped: undefined };
  const wish = { room, outcome, at, who: 'Ada', note: undefined, ...none, ...more };
  const made = makeVisit(wish, foldRound(of, before, relate), relate, { id: idOf(count), notedAt: at });
  return { ...made, codes: made.findings.map(({ code }) => code) };
}
function kept(of: Round, outcomes: readonly SaidOutcome[], room = 'Hall'): readonly RoundRecord[] {
  const records: RoundRecord[] = [];
  for (const outcome of outcomes) {
    const { record } = say(of, records, room, outcome);
    if (record === undefined) throw new Error('nothing was made');
    records.push(roundRecordWithDigest(record, sha256));
  }
  return records;
}
function hallOf(of: Round, records: readonly RoundRecord[]) {
  const status = foldRound(of, records, relate);
  const hall = status.rooms.find(({ room }) => room.key === 'Hall');
  if (hall === undefined) throw new Error('the round has a hall');
  return { status, hall, ladder: failureLadder(hall, status) };
}
const done = (build: string): SaidOutcome => ({ kind: 'done', build });
const notYet: SaidOutcome = { kind: 'not-yet', build: undefined };
const failed = (text: string): SaidOutcome => ({ kind: 'failed', text });

describe('a room over the air', () => {
  it('is due to be looked at until a record says its build', () => {
    const open = hallOf(round, []);
    expect(open.hall.progress).toBe('over-the-air');
    expect(roundVerdict(open.status, 'ready')).toBe('not-ready');
    const looked = hallOf(round, kept(round, [notYet, done('reed.746')]));
    expect(looked.hall).toMatchObject({ progress: 'over-the-air', tries: [], failures: 0 });
    const there = hallOf(round, kept(round, [notYet, done('reed.1717')]));
    expect(there.hall).toMatchObject({ progress: 'done', reached: 'reed.1717', wiped: false });
  });

  it('takes any newer build than was expected, waits on one in between, and wonders at an older one', () => {
    expect(hallOf(round, kept(round, [done('reed.1835')])).hall.progress).toBe('done');
    expect(hallOf(round, kept(round, [done('reed.999')])).hall.progress).toBe('over-the-air');
    expect(say(round, [], 'Hall', done('reed.702')).codes).toEqual(['record/build-unexpected']);
    const unknown = roundOf({ ...airRoom('Hall'), target: null });
    expect(hallOf(unknown, kept(unknown, [done('reed.999')])).hall.progress).toBe('done');
  });

  it('stays done when it is looked at once more, whatever build came', () => {
    const unknown = roundOf({ ...airRoom('Hall'), target: null });
    for (const [of, build] of [
      [round, 'reed.1717'],
      [round, 'reed.1835'],
      [unknown, 'reed.999'],
    ] as const) {
      const records = kept(of, [done(build), done(build)]);
      expect([build, hallOf(of, records).hall.progress]).toEqual([build, 'done']);
      expect(
        say(of, records.slice(0, 1), 'Hall', done(build)).codes.filter((code) => code !== 'record/same-again'),
      ).toEqual([]);
    }
  });

  it('says of each look what comes next, and keeps that no stick was brought', () => {
    const { codes, record, findings } = say(round, [], 'Hall', notYet);
    expect(codes).toEqual(['record/not-yet']);
    expect(verdictOf(findings)).toBe('ready');
    expect(record).toMatchObject({
      schema: 'stickwright/round-record/2',
      kind: 'looked',
      outcome: 'not-yet',
      buildBefore: 'reed.746',
      ...{ stick: null, mode: null, wiped: false },
    });
    // Typed as a build: the same from before is the same answer.
    expect(say(round, [], 'Hall', done('reed.746')).record).toMatchObject({ outcome: 'not-yet' });
  });

  it('"not yet" is nothing to say of a room that waits for its stick', () => {
    const { codes, record, findings } = say(round, [], 'Room 2.14', notYet);
    expect([codes, record, verdictOf(findings)]).toEqual([['record/not-over-the-air'], undefined, 'not-ready']);
  });

  it('a stick that was in it all the same is kept as a visit, and told', () => {
    const { record, codes } = say(round, [], 'Hall', done('reed.1717'), { stick: 'WHN-3PA' });
    expect(record?.kind).toBe('visit');
    expect(codes).toContain('record/not-planned');
  });

  it('stands in the status with what is expected, and who looked last', () => {
    const records = kept(round, [notYet]);
    const { status } = hallOf(round, records);
    const text = renderRoundStatus(
      { command: 'round status', verdict: 'not-ready', findings: [], place: 'x.round', status },
      look,
    );
    expect(text).toContain('2: 1 open, 1 over the air');
    expect(text).toMatch(/Over the air, look again \(1\)\n {2}Hall +reed\.1717 is expected; looked 2026-09-22 .*, Ada/);
    expect(text).toContain('0 of 2 rooms to update are done, 2 left');
  });

  test('its state is the same in whichever order the records of several people come', () => {
    const records = kept(round, [notYet, failed('E 12'), notYet, done('reed.746'), failed('E 13'), done('reed.999')]);
    const progress = (some: readonly RoundRecord[]) => {
      const { hall } = hallOf(round, some);
      return [hall.progress, hall.tries.length, hall.airFailures.length, hall.last?.visit.id];
    };
    fc.assert(
      fc.property(fc.shuffledSubarray([...records], { minLength: records.length }), (shuffled) => {
        expect(progress(shuffled)).toEqual(progress(records));
      }),
      { seed: 16, numRuns: 100 },
    );
  });
});

describe('from one way to the next', () => {
  const names = (ladder: ReturnType<typeof failureLadder>) => ladder.rungs.map(({ name, state }) => `${name} ${state}`);

  it('its own update once more, then what comes next by the same rules, then the maker', () => {
    const first = hallOf(round, kept(round, [failed('E 12')]));
    expect(first.hall.progress).toBe('failed');
    expect(names(first.ladder)).toEqual(['own-update next', 'next-way after', 'maker waits']);
    expect(first.ladder.rungs[1]).toMatchObject({
      title: 'Ask before the next way',
      what: expect.stringContaining('Can somebody open its settings (sign in, passcode)?'),
      command: 'stickwright round plan rooms/Quillhaven-north.csv',
    });
    const opens = roundOf(airRoom('Hall', { air: 'offers', settings: 'yes' }));
    const twice = hallOf(opens, kept(opens, [failed('E 12'), failed('E 13')]));
    expect(names(twice.ladder)).toEqual(['own-update closed', 'next-way next', 'maker after']);
    expect(twice.ladder.rungs[1]?.title).toBe('A stick in its running OS');
    expect(twice.ladder).toMatchObject({ isOver: false, recovery: undefined });
    expect(twice.ladder.message).toContain('its own update over the network');
    const text = renderRoundLadder(
      { command: 'round ladder', verdict: 'ready', findings: [], place: 'x', room: twice.hall, ladder: twice.ladder },
      look,
    );
    expect(text).toContain('its own update: "E 13"');
    expect(text).not.toContain('STOP: two tries failed');
  });

  it('what its own update failed at is no try of the stick that comes after it, and the maker hears of it', () => {
    const records = kept(round, [failed('E 12'), failed('E 13')]);
    const later = roundOf(makeRoom({ key: 'Hall' }));
    const { hall, ladder } = hallOf(later, records);
    expect(hall).toMatchObject({ progress: 'open', tries: [], airFailures: [{}, {}] });
    expect(ladder).toMatchObject({ isOver: false, recovery: undefined });
    expect(ladder.message).toContain('Before: its own update failed');
    expect(ladder.message).toContain('"E 13"');
  });

  test('no answer leads from a failed update to a wipe without a name, or over what is worth keeping', () => {
    const answers = fc.record(
      {
        starts: fc.constantFrom('yes', 'no', 'unknown'),
        settings: fc.constantFrom('yes', 'no', 'failed-twice', 'maker', 'unknown'),
        keep: fc.constantFrom('yes', 'no', 'unknown'),
      },
      { requiredKeys: [] },
    );
    let wipes = 0;
    fc.assert(
      fc.property(answers, fc.constantFrom(null, 'M. Aldane'), (said, approval) => {
        const asked = roundOf({ ...airRoom('Hall', { air: 'offers', ...said }), approval });
        const { ladder } = hallOf(asked, kept(asked, [failed('E 12'), failed('E 13')]));
        if (ladder.rungs[1]?.title !== 'Recovery, which wipes') return;
        wipes++;
        expect([approval, said.keep]).toEqual(['M. Aldane', 'no']);
      }),
      { seed: 16, numRuns: 150 },
    );
    expect(wipes).toBeGreaterThan(0);
  });
});
