import { describe, expect, it } from 'vitest';
import type { RoundRecord, RoundRecordOf } from '../../../../src/core/model/round-record.ts';
import { failureLadder, type Ladder } from '../../../../src/core/rounds/records/failure-ladder.ts';
import { foldRound } from '../../../../src/core/rounds/records/fold-round.ts';
import { relateBuilds } from '../../../../src/core/rounds/records/read-visit.ts';
import { makeRecord, preparedOf, sampleRecords, sampleRound } from '../../../fixtures/round.ts';

type StickVisit = RoundRecordOf<'visit'>;

const round = sampleRound();
const [loadA] = round.loads;
if (loadA === undefined) throw new Error('no load');
const spare = preparedOf(loadA, 'WWW-AAA', 9);
const failed = (number: number, rest: Partial<StickVisit> = {}): RoundRecord =>
  makeRecord('visit', 100 + number, {
    room: 'Room 2.14',
    label: null,
    serial: null,
    asset: null,
    stick: 'CLY-FTJ',
    package: { name: loadA.package.name, sha256: loadA.package.sha256, build: loadA.package.build },
    mode: 'in-os',
    outcome: 'failed',
    buildBefore: 'reed.746',
    buildAfter: null,
    wiped: false,
    text: `E${number} "no file"`,
    at: `2026-09-21T${String(8 + number).padStart(2, '0')}:40:00+02:00`,
    ...rest,
  });

function ladderOf(room: string, ...records: readonly RoundRecord[]): Ladder {
  const status = foldRound(round, [...sampleRecords(round), ...records], relateBuilds([]));
  const found = status.rooms.find((one) => one.room.key === room);
  if (found === undefined) throw new Error(`no ${room}`);
  return failureLadder(found, status);
}
const states = ({ rungs }: Ladder) => Object.fromEntries(rungs.map(({ name, state }) => [name, state]));
const rung = (ladder: Ladder, name: string) => ladder.rungs.find((one) => one.name === name);

// The order of the rungs, "stop after two complete tries" and the stops at once are common practice, no source.
describe('the failure ladder', () => {
  it('after one try: verify, other port, other stick; the rest waits', () => {
    const ladder = ladderOf('Room 2.14', spare, failed(0));
    expect(ladder.rungs.map(({ name }) => name)).toEqual([
      ...['verify-stick', 'other-port', 'other-stick', 'fresh-download', 'read-label', 'maker'],
    ]);
    expect(Object.values(states(ladder))).toEqual(['next', 'after', 'after', 'waits', 'waits', 'waits']);
    expect(ladder).toMatchObject({ isOver: false, recovery: undefined });
    expect(rung(ladder, 'verify-stick')).toMatchObject({
      what: expect.stringContaining('CLY-FTJ'),
      command: 'stickwright verify STICK --label "K2-second 75/5B" --mode in-os',
    });
    expect(rung(ladder, 'other-port')?.what).toContain('USB 1, left edge, marked SERVICE');
    expect(rung(ladder, 'other-stick')?.what).toContain('WWW-AAA');
  });

  it('passes a stick that came back unchanged after the failure, and offers to prepare another where there is none', () => {
    const back = makeRecord('returned', 60, {
      stick: 'CLY-FTJ',
      state: 'unchanged',
      left: [],
      cleared: false,
      at: '2026-09-21T09:00:00+02:00',
    });
    const ladder = ladderOf('Room 2.14', failed(0), back);
    expect(states(ladder)).toMatchObject({ 'verify-stick': 'done', 'other-port': 'next' });
    expect(rung(ladder, 'other-stick')?.command).toBe('stickwright round prepare --load A --stick STICK');
    const changed = { ...back, state: 'changed' } as RoundRecord;
    expect(states(ladderOf('Room 2.14', failed(0), changed))['verify-stick']).toBe('next');
  });

  it('after two tries nobody tries again: download, label, maker; recovery wipes and wants an approval', () => {
    const ladder = ladderOf('Room 2.14', spare, failed(0), failed(1, { stick: 'WWW-AAA', who: 'Bo' }));
    expect(ladder.isOver).toBe(true);
    expect(Object.values(states(ladder))).toEqual(['closed', 'closed', 'done', 'next', 'after', 'after']);
    expect(ladder.recovery).toMatch(/WIPES.*maker|maker.*WIPES/s);
    expect(ladder.recovery).toContain('stickwright round record "Room 2.14" --approved-by NAME');
    expect(rung(ladder, 'fresh-download')?.what).toContain(loadA.package.sha256);
  });

  it('before recovery somebody is asked what is worth keeping, unless the list says that nothing is', () => {
    const twice = [failed(0), failed(1, { stick: 'WWW-AAA', who: 'Bo' })];
    expect(ladderOf('Room 2.14', ...twice).recovery).toContain('Ask the owner what must be kept');
    const approved = makeRecord('approval', 90, {
      ...{ room: 'Room 2.14', label: null, serial: null, asset: null, by: 'M. Aldane' },
    });
    const recovery = ladderOf('Room 2.14', ...twice, approved).recovery;
    expect(recovery).toContain('A wipe is approved by M. Aldane.');
    expect(recovery).toContain('Ask the owner what must be kept');
    expect(recovery).not.toContain('--approved-by');
  });

  it('fills in the message to the maker: label, serial, builds, file, hash, every try in its exact words', () => {
    const { message } = ladderOf('Room 2.14', failed(0), failed(1, { stick: null, who: 'Bo' }));
    for (const fact of [
      ...['failed twice', 'K2-second 75/5B', 'SD75B-2291-0087', 'QSA-10214', 'reed.746', 'reed.1717'],
      ...[loadA.package.name, loadA.package.sha256, '7151701', 'USB 1, left edge, marked SERVICE'],
      ...['2026-09-21T08:40:00+02:00, stick CLY-FTJ, MK', '"E0 "no file""', 'stick not noted, Bo', '"E1 "no file""'],
      ...['photo', 'About page', 'plate'],
    ]) {
      expect(message.toLowerCase(), fact).toContain(fact.toLowerCase());
    }
    expect(message).not.toContain('please fill in');
    const workshop = ladderOf('Workshop 2', failed(0, { room: 'Workshop 2', stick: null, package: null, text: null }));
    expect(workshop.message).toContain('serial              (please fill in)');
  });

  it('starts anew at the next step of a bridge, and does not speak of recovery where recovery failed', () => {
    const reached = failed(1, { room: 'Room 1.03', outcome: 'done', buildAfter: 'reed.608', text: null });
    const ladder = ladderOf('Room 1.03', failed(0, { room: 'Room 1.03' }), reached, failed(2, { room: 'Room 1.03' }));
    expect(ladder.tries).toHaveLength(1);
    expect(ladder.build).toBe('reed.608');
    const twice = [0, 1].map((number) =>
      failed(number, { room: 'Library', mode: 'recovery', stick: 'WHN-3PA', wiped: true }),
    );
    expect(ladderOf('Library', ...twice)).toMatchObject({ isOver: true, recovery: undefined });
  });

  it('always says when to stop at once, with the usual cautions', () => {
    const { stopAtOnce } = ladderOf('Room 2.14', failed(0));
    for (const word of ['smell', 'smoke', 'plug', 'mount', 'label', 'electrician', 'maker']) {
      expect(stopAtOnce.join('\n')).toContain(word);
    }
  });
});
