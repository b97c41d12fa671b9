import { describe, expect, it } from 'vitest';
import { severityOf, textsOf, verdictOf, withAccepted } from '../../../../src/core/findings/finding.ts';
import type { RoundRecord } from '../../../../src/core/model/round-record.ts';
import { foldRound } from '../../../../src/core/rounds/records/fold-round.ts';
import { makeVisit, type VisitWish } from '../../../../src/core/rounds/records/make-visit.ts';
import {
  parseRecordLine,
  roundRecordWithDigest,
  serialiseRoundRecord,
} from '../../../../src/core/rounds/records/own-digests.ts';
import { relateBuilds } from '../../../../src/core/rounds/records/read-visit.ts';
import { loadFamilies } from '../../../../src/io/families/load-families.ts';
import { idOf, sha256 } from '../../../fixtures/records/record-arbitrary.ts';
import { preparedOf, sampleRecords, sampleRound } from '../../../fixtures/round.ts';

const relate = relateBuilds(await loadFamilies(['samples/families']));
const round = sampleRound();
const stamp = { id: idOf(1), notedAt: '2026-09-21T07:00:00Z' };
const usual: VisitWish = {
  room: 'Room 2.14',
  outcome: { kind: 'done', build: 'reed.1717' },
  label: undefined,
  serial: undefined,
  stick: 'CLY-FTJ',
  before: undefined,
  wiped: undefined,
  note: undefined,
  at: '2026-09-21T08:40:00+02:00',
  who: 'Ada',
};
const make = (wish: Partial<VisitWish>, records: readonly RoundRecord[] = sampleRecords(round)) =>
  makeVisit({ ...usual, ...wish }, foldRound(round, records, relate), relate, stamp);
const codesOf = (wish: Partial<VisitWish>, records?: readonly RoundRecord[]) =>
  make(wish, records).findings.map(({ code }) => code);

describe('a visit that is noted', () => {
  it('is filled up with what the plan and the stick’s record know, and makes a whole line', () => {
    const { record, findings } = make({});
    expect(findings).toEqual([]);
    expect(record).toEqual({
      schema: 'stickwright/round-record/1',
      ...stamp,
      at: usual.at,
      who: 'Ada',
      kind: 'visit',
      room: 'Room 2.14',
      label: 'K2-second 75/5B',
      serial: 'SD75B-2291-0087',
      asset: 'QSA-10214',
      stick: 'CLY-FTJ',
      package: { name: 'reed.1717_5B_second_K2.zip', sha256: round.loads[0]?.package.sha256, build: 'reed.1717' },
      mode: 'in-os',
      outcome: 'done',
      buildBefore: 'reed.746',
      buildAfter: 'reed.1717',
      wiped: false,
      text: null,
    });
    if (record === undefined) throw new Error('no record');
    const line = serialiseRoundRecord(roundRecordWithDigest(record, sha256));
    expect(parseRecordLine(line, sha256).state).toBe('whole');
  });

  it('is stopped where the build is neither the target nor a step, and where it is the one from before', () => {
    expect(codesOf({ outcome: { kind: 'done', build: 'reed.1744' } })).toEqual(['record/build-unexpected']);
    expect(codesOf({ outcome: { kind: 'done', build: 'reed.746' } })).toEqual(['record/build-unchanged']);
    const newer = make({ outcome: { kind: 'done', build: 'reed.1826' } }).findings[0];
    expect(newer && severityOf(newer)).toBe('stop');
    expect(newer && textsOf(newer).seen).toContain('newer than reed.1717');
    expect(codesOf({ outcome: { kind: 'done', build: undefined } })).toEqual(['record/build-not-read']);
    expect(codesOf({ room: 'Room 1.03', stick: undefined, outcome: { kind: 'done', build: 'reed.608' } })).toEqual([]);
    expect(codesOf({ room: 'Staff room', stick: undefined })).toContain('record/build-unexpected');
    expect(codesOf({ room: 'Staff room', stick: undefined })).toContain('record/not-planned');
  });

  it('is stopped where the plate says something else than the list', () => {
    expect(codesOf({ label: 'K1-second 75/5B' })).toEqual(['record/label-differs']);
    expect(codesOf({ label: 'k2–second  75/5b' })).toEqual([]);
    expect(codesOf({ serial: 'SD75B-2291-0088' })).toEqual(['record/serial-differs']);
    expect(make({ label: 'K1-second 75/5B' }).record).toMatchObject({ label: 'K1-second 75/5B' });
  });

  it('is stopped where the stick is for other rooms, and told of a code that nobody prepared', () => {
    // It carries a recovery, so the panel is wiped as well.
    expect(codesOf({ stick: 'k7m r4x' })).toEqual(['record/stick-elsewhere', 'record/wiped-unapproved']);
    const unknown = make({ stick: 'CLY-FTI' });
    expect(unknown.findings).toMatchObject([{ code: 'record/stick-unknown', facts: { near: ['CLY-FTJ'] } }]);
    expect(unknown.record).toMatchObject({ stick: 'CLY-FTI', package: null });
  });

  it('takes the only stick of the load that is due, and says so; of several it takes none', () => {
    const one = make({ stick: undefined });
    expect(one.findings).toMatchObject([{ code: 'record/stick-assumed', subject: 'CLY-FTJ' }]);
    expect(one.record).toMatchObject({ stick: 'CLY-FTJ' });
    const [load] = round.loads;
    if (load === undefined) throw new Error('no load');
    const two = make({ stick: undefined }, [...sampleRecords(round), preparedOf(load, 'WWW-AAA', 9)]);
    expect(two.findings).toMatchObject([{ code: 'record/stick-not-named' }]);
    expect(two.record).toMatchObject({ stick: null, package: { build: 'reed.1717' } });
    expect(make({ stick: undefined, outcome: { kind: 'skipped', text: 'locked' } }).record).toMatchObject({
      stick: null,
      package: null,
      text: 'locked',
      wiped: false,
    });
  });

  it('of a wiping mode notes the wipe, asks for its approval, and lets a person say that nothing was wiped', () => {
    const library = { room: 'Library', stick: 'WHN-3PA' };
    expect(codesOf(library)).toEqual(['record/wiped-unapproved']);
    expect(make(library).record).toMatchObject({ wiped: true, mode: 'recovery' });
    const broken = { ...library, outcome: { kind: 'failed', text: 'black screen' } } as const;
    expect(codesOf(broken)).toEqual(['record/wiped-unapproved', 'record/wipe-assumed']);
    expect(codesOf({ ...broken, wiped: false })).toEqual([]);
    expect(
      codesOf({ room: 'Assembly hall', stick: 'K7M-R4X', outcome: { kind: 'done', build: 'v3.10.2_20260305' } }),
    ).toEqual([]);
  });

  it('tells a line that says the same as one a moment ago', () => {
    const wish = { outcome: { kind: 'failed', text: 'No file' } } as const;
    const { record } = make(wish);
    if (record === undefined) throw new Error('no record');
    const records = [...sampleRecords(round), roundRecordWithDigest(record, sha256)];
    expect(codesOf({ ...wish, at: '2026-09-21T08:43:00+02:00' }, records)).toEqual(['record/same-again']);
    expect(codesOf({ ...wish, at: '2026-09-21T09:43:00+02:00' }, records)).toEqual([]);
  });

  it('stops at the same failure within a minute: two failed tries would end the ladder', () => {
    const wish = { outcome: { kind: 'failed', text: 'No file' } } as const;
    const { record } = make(wish);
    if (record === undefined) throw new Error('no record');
    const records = [...sampleRecords(round), roundRecordWithDigest(record, sha256)];
    const again = make({ ...wish, at: '2026-09-21T08:40:40+02:00' }, records);
    expect(again.findings.map(({ code }) => code)).toEqual(['record/failed-just-now']);
    expect(verdictOf(again.findings)).toBe('not-ready');
    const said = withAccepted(again.findings, new Map([['record/failed-just-now', 'a second try']]));
    expect(verdictOf(said)).toBe('ready');
    const other = { outcome: { kind: 'failed', text: 'No USB found' } } as const;
    expect(codesOf({ ...other, at: '2026-09-21T08:40:40+02:00' }, records)).toEqual([]);
  });

  it('names what is near or what is possible where the room is not found', () => {
    expect(make({ room: 'Room 2.41' })).toMatchObject({
      record: undefined,
      findings: [{ code: 'record/room-unknown' }],
    });
    expect(make({ room: 'Room' }).findings).toMatchObject([{ code: 'record/room-ambiguous' }]);
  });
});
