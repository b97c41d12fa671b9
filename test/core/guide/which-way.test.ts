import { describe, expect, it, test } from 'vitest';
import type { Answers } from '../../../src/core/guide/question.ts';
import { answersOfList, nextWayQuestion, wayQuestions } from '../../../src/core/guide/way-questions.ts';
import { wayOf, wayOfSome } from '../../../src/core/guide/which-way.ts';
import type { Family } from '../../../src/core/model/family.ts';
import { type WayField, wayFields } from '../../../src/core/model/room.ts';
import { sampleFamilies } from '../label/families.ts';

const [, , sedge] = (await sampleFamilies()) as readonly Family[];
const unknown = { family: undefined, target: undefined };

/** All ways that the questions can be answered, each with its end. */
function allEnds(family: Family | undefined, answers: Answers = {}): readonly Answers[] {
  const question = nextWayQuestion(answers, family);
  if (question === undefined) return [answers];
  const values = question.choices?.map(({ value }) => value) ?? ['', 'A. Larch'];
  return values.flatMap((value) => allEnds(family, { ...answers, [question.id]: value }));
}

describe('which way', () => {
  it('asks at most five things, and ends on every way', () => {
    for (const family of [undefined, sedge]) {
      const ends = allEnds(family);
      expect(ends.length).toBeGreaterThan(15);
      for (const end of ends) {
        expect(Object.keys(end).length).toBeLessThanOrEqual(5);
        expect(wayOf(end, { family, target: undefined }).reason).toMatch(/\.$/);
      }
    }
  });

  test('nobody is sent to a wipe that nobody approved, or over something worth keeping', () => {
    let wipes = 0;
    for (const end of allEnds(undefined)) {
      const way = wayOf(end, unknown);
      if (way.way !== 'stick' || way.mode !== 'recovery') continue;
      wipes++;
      expect(end['way.keep']).toBe('no');
      expect(end['way.approved']).toBe('A. Larch');
      expect(way.reason).toContain('A. Larch approved it');
    }
    expect(wipes).toBeGreaterThan(0);
  });

  test('the mildest way that still works comes first', () => {
    const way = (answers: Answers) => wayOf(answers, unknown);
    expect(way({ 'way.starts': 'yes', 'way.air': 'offers' })).toMatchObject({ way: 'over-the-air' });
    expect(way({ 'way.starts': 'yes', 'way.air': 'offline' })).toMatchObject({ way: 'over-the-air' });
    expect(way({ 'way.starts': 'yes', 'way.air': 'fails', 'way.settings': 'yes' })).toMatchObject({ mode: 'in-os' });
    expect(way({ 'way.starts': 'yes', 'way.air': 'nothing', 'way.settings': 'no' })).toMatchObject({
      way: 'stop-and-ask',
      reason: expect.stringContaining('Nobody can open its settings'),
    });
    expect(way({ 'way.starts': 'unknown' })).toMatchObject({ way: 'stop-and-ask' });
    const twice = { 'way.starts': 'yes', 'way.air': 'fails', 'way.settings': 'failed-twice', 'way.keep': 'no' };
    expect(way({ ...twice, 'way.approved': '' })).toMatchObject({ way: 'stop-and-ask' });
    expect(way({ ...twice, 'way.approved': 'A. Larch' })).toMatchObject({ mode: 'recovery' });
  });

  it('says the build to expect where it is known, and no wait or port that nobody said', () => {
    const said = wayOf({ 'way.starts': 'yes', 'way.air': 'offers' }, { family: sedge, target: 'reed.1717' });
    expect(said.todo.join(' ')).toContain('Build reed.1717 is what to expect.');
    const nobody = wayOf({ 'way.starts': 'yes', 'way.air': 'offers' }, unknown);
    expect(nobody.todo.join(' ')).not.toMatch(/Build|\d+ (min|h)\b/);
  });

  it('says what the family says of the network, and goes by what it says of downgrades', () => {
    if (sedge === undefined) throw new Error('the sample has three families');
    const air = { steps: ['Switch on the nightly update in its settings.'], hours: { from: 12, to: 36 } };
    const offline = wayOf(
      { 'way.starts': 'yes', 'way.air': 'offline' },
      { family: { ...sedge, 'over-the-air': air }, target: undefined },
    );
    expect(offline.todo.slice(0, 2)).toEqual([air.steps[0], 'Look at its About page again after 12 to 36 hours.']);
    const { 'in-os': inOs } = sedge.modes;
    if (inOs === undefined) throw new Error('sedge takes sticks in its OS');
    const forward = { ...sedge, modes: { ...sedge.modes, 'in-os': { ...inOs, 'takes-downgrade': false } } };
    const answers = { 'way.starts': 'yes', 'way.air': 'fails', 'way.settings': 'yes' };
    expect(nextWayQuestion(answers, forward)).toBeUndefined();
    expect(nextWayQuestion(answers, forward, true)?.id).toBe('way.keep');
    const approved = { ...answers, 'way.keep': 'no', 'way.approved': 'A. Larch' };
    const wayBack = { target: undefined, isDowngrade: true };
    expect(wayOf(approved, { family: forward, ...wayBack })).toMatchObject({ mode: 'recovery' });
    // Where nobody says, nothing is claimed.
    expect(wayOf(answers, { family: sedge, ...wayBack })).toMatchObject({ mode: 'in-os' });
  });

  it('goes by the family: a mode that it does not have, and one that wipes although it is in-OS', () => {
    if (sedge === undefined) throw new Error('the sample has three families');
    const answers = { 'way.starts': 'yes', 'way.air': 'fails', 'way.settings': 'yes' };
    const { 'in-os': inOs, ...recoveryOnly } = sedge.modes;
    const without = { ...sedge, modes: recoveryOnly };
    expect(nextWayQuestion(answers, without)?.id).toBe('way.keep');
    expect(wayOf({ ...answers, 'way.keep': 'yes' }, { family: without, target: undefined }).way).toBe('stop-and-ask');
    if (inOs === undefined) throw new Error('sedge takes sticks in its OS');
    const wiping = { ...sedge, modes: { ...sedge.modes, 'in-os': { ...inOs, 'keeps-data': false } } };
    expect(nextWayQuestion(answers, wiping)?.id).toBe('way.keep');
    const approved = { ...answers, 'way.keep': 'no', 'way.approved': 'A. Larch' };
    expect(wayOf(approved, { family: wiping, target: undefined })).toMatchObject({
      mode: 'in-os',
      reason: expect.stringContaining('wipes the panel too'),
    });
    const none = { ...sedge, modes: { 'in-os': inOs } };
    expect(
      wayOf({ 'way.starts': 'no', 'way.keep': 'no', 'way.approved': 'A' }, { family: none, target: undefined }),
    ).toMatchObject({
      way: 'stop-and-ask',
      reason: expect.stringContaining('no recovery from a stick'),
    });
  });
});

/** Every row that a list can have: each answer of each question, one that is no answer, or nothing. */
function allRows(): readonly Readonly<Partial<Record<WayField, string>>>[] {
  const valuesOf = (field: WayField) => [
    undefined,
    'unknown',
    ...wayQuestions[field].choices.map(({ value }) => value),
  ];
  return wayFields.reduce<Partial<Record<WayField, string>>[]>(
    (rows, field) =>
      rows.flatMap((row) => valuesOf(field).map((value) => (value === undefined ? row : { ...row, [field]: value }))),
    [{}],
  );
}

describe('which way, by the columns of a list', () => {
  test('nobody is sent to a wipe without a name and without the word that nothing is worth keeping', () => {
    if (sedge?.modes['in-os'] === undefined) throw new Error('sedge takes sticks in its OS');
    const wiping = { ...sedge, modes: { ...sedge.modes, 'in-os': { ...sedge.modes['in-os'], 'keeps-data': false } } };
    let wipes = 0;
    for (const family of [undefined, sedge, wiping]) {
      for (const row of allRows()) {
        for (const by of [undefined, '', '  ', 'A. Larch']) {
          const way = wayOfSome(answersOfList(row, by), { family, target: undefined });
          expect(way.reason).toMatch(/\.$/);
          if (way.way === 'stop-and-ask') expect(way.todo.length).toBeGreaterThan(0);
          if (way.way !== 'stick' || (way.mode === 'in-os' && family !== wiping)) continue;
          wipes++;
          expect([row.keep, by]).toEqual(['no', 'A. Larch']);
          expect([row, row.starts === 'no' && (row.air === 'offers' || row.settings === 'yes')]).toEqual([row, false]);
        }
      }
    }
    expect(wipes).toBeGreaterThan(20);
  });

  test('what the guide would still ask is what somebody must be asked', () => {
    const way = (row: Readonly<Partial<Record<WayField, string>>>) => wayOfSome(answersOfList(row, undefined), unknown);
    expect(way({ starts: 'yes' })).toMatchObject({
      way: 'stop-and-ask',
      todo: ['Ask whoever is in the room to look on its update page: What does its own update over the network say?'],
    });
    expect(way({ air: 'fails' }).todo).toEqual([
      "Ask the panel's owner: Can somebody open its settings (sign in, passcode)?",
    ]);
    expect(way({ settings: 'unknown' }).todo).toEqual([
      'Ask whoever is in the room: Does the panel start, up to its home screen?',
    ]);
    expect(way({ starts: 'no', air: 'offers' }).reason).toContain('both cannot be true');
    expect(way({ starts: 'no' }).reason).toContain('worth keeping');
    expect(way({ starts: 'no', keep: 'no' }).reason).toContain('Nobody has approved');
  });

  test('a panel whose own update says something starts: nobody need say it again', () => {
    expect(wayOfSome({ 'way.air': 'offers' }, unknown)).toMatchObject({ way: 'over-the-air' });
    expect(wayOfSome({ 'way.air': 'fails', 'way.settings': 'yes' }, unknown)).toMatchObject({ mode: 'in-os' });
    // Being without a network says nothing of that.
    expect(wayOfSome({ 'way.air': 'offline' }, unknown)).toMatchObject({ way: 'stop-and-ask' });
    // The mildest way comes first, whatever else is said.
    expect(wayOfSome({ 'way.air': 'offers', 'way.settings': 'failed-twice' }, unknown).way).toBe('over-the-air');
  });

  test('a panel that does not start with the newest build is not wiped for it', () => {
    const dead = { 'way.starts': 'no', 'way.keep': 'no', 'way.approved': 'A. Larch' };
    expect(wayOfSome(dead, unknown)).toMatchObject({ mode: 'recovery' });
    expect(wayOfSome(dead, { ...unknown, isThere: true })).toMatchObject({ way: 'stop-and-ask' });
  });
});
