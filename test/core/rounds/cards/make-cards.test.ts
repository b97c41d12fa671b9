import { describe, expect, it } from 'vitest';
import { customaryRules } from '../../../../src/core/model/customary-rules.ts';
import { checkCards, makeCards } from '../../../../src/core/rounds/cards/make-cards.ts';
import { makeCover, makeTags } from '../../../../src/core/rounds/cards/make-cover.ts';
import { sticksOf } from '../../../../src/core/rounds/plan/stick-codes.ts';
import { panelAdvice, usualMinutes } from '../../../../src/core/rounds/plan/usual-practice.ts';
import { makeRecord, makeRound, preparedOf, sampleRecords, sampleRound } from '../../../fixtures/round.ts';

const round = sampleRound();
const loadOf = (id: string) => {
  const load = round.loads.find((one) => one.id === id);
  if (load === undefined) throw new Error(id);
  return load;
};
const codes = (id: string, records: Parameters<typeof sticksOf>[1]) =>
  sticksOf(loadOf(id), records).map(({ stick }) => stick);

describe('which sticks carry a load', () => {
  const early = preparedOf(loadOf('A'), 'AAA-AAA', 1, '2026-09-21T08:00:00+02:00');
  const late = preparedOf(loadOf('A'), 'CCC-CCC', 2, '2026-09-21T07:30:00+00:00');

  it('names the latest first, by the moment and not by the text of the time', () => {
    expect(codes('A', [late, early])).toEqual(['CCC-CCC', 'AAA-AAA']);
  });

  it('knows a load by package and mode, also when its letter has moved', () => {
    const moved = { ...early, load: 'Q' };
    expect(codes('A', [moved])).toEqual(['AAA-AAA']);
    expect(codes('D', [moved])).toEqual([]);
  });

  it('drops a stick that was withdrawn, cleared when it came back, or prepared for something else', () => {
    const withdrawn = makeRecord('withdrawn', 3, { withdraws: early.id, because: 'typed twice' });
    const cleared = makeRecord('returned', 4, {
      stick: 'CCC-CCC',
      state: 'visited',
      left: [],
      cleared: true,
      at: '2026-09-21T12:00:00+02:00',
    });
    const other = preparedOf(loadOf('C'), 'CCC-CCC', 5, '2026-09-21T13:00:00+02:00');
    expect(codes('A', [early, late, withdrawn])).toEqual(['CCC-CCC']);
    expect(codes('A', [early, late, cleared])).toEqual(['AAA-AAA']);
    expect(codes('A', [early, late, other])).toEqual(['AAA-AAA']);
    expect(codes('C', [early, late, other])).toEqual(['CCC-CCC']);
  });
});

describe('room cards', () => {
  const cards = makeCards(round, sampleRecords(round));

  it('are for rooms that take a stick only, in the order of the list, one a stick', () => {
    expect(cards.map(({ room, load }) => `${room.key} ${load.id}`)).toEqual([
      'Room 2.14 A',
      'Room 2.15 A',
      'Room 1.03 B',
      'Room 1.03 A',
      'Assembly hall C',
      'Library D',
      'Workshop 2 E',
    ]);
  });

  it('say which stick comes first and what the panel must show before the second', () => {
    const [first, second] = cards.filter(({ room }) => room.key === 'Room 1.03');
    expect(first).toMatchObject({ step: 1, steps: 2, nextLoad: 'A', buildBefore: 'reed.455', build: 'reed.608' });
    expect(first?.because).toContain('storage layout');
    expect(second).toMatchObject({ step: 2, steps: 2, nextLoad: null, buildBefore: 'reed.608', build: 'reed.1717' });
  });

  it('take the stick code from the records, and have none where nobody prepared one', () => {
    expect(cards.map(({ sticks }) => sticks[0] ?? null)).toEqual([
      'CLY-FTJ',
      'CLY-FTJ',
      null,
      'CLY-FTJ',
      'K7M-R4X',
      'WHN-3PA',
      null,
    ]);
  });

  it('name who approved: the latest record before the list', () => {
    const approve = (number: number, by: string, at: string) =>
      makeRecord('approval', number, { room: 'Library', label: null, serial: null, asset: null, by, at });
    const records = [
      approve(8, 'R. Okafor', '2026-09-21T11:00:00+02:00'),
      approve(9, 'L. Brandt', '2026-09-21T10:00:00+02:00'),
    ];
    const approvals = Object.fromEntries(
      makeCards(round, records).map(({ room, approval }) => [room.key, approval] as const),
    );
    expect(approvals.Library).toBe('R. Okafor');
    expect(approvals['Assembly hall']).toBe('D. Harrow, 18 Sept 2026');
    expect(approvals['Room 2.14']).toBeNull();
  });

  it('can be only those of some rooms, with the tags of their loads', () => {
    const only = new Set(['Library']);
    expect(makeCards(round, [], only).map(({ room }) => room.key)).toEqual(['Library']);
    expect(makeTags(round, [], only).map(({ load }) => load.id)).toEqual(['D']);
  });

  it('say what a person must know before they are carried away', () => {
    const pages = cards.map(({ room }) => (room.key === 'Library' ? 2 : 1));
    const found = checkCards(cards, pages, 'x').map(({ code, facts }) => ({ code, facts }));
    expect(found).toEqual([
      { code: 'cards/no-approval', facts: { rooms: ['Library'] } },
      { code: 'cards/not-prepared', facts: { loads: ['B', 'E'] } },
      { code: 'cards/several-pages', facts: { rooms: ['Library'] } },
    ]);
  });
});

describe('tags', () => {
  it('are one for each stick, and blank ones for what the schedule still wants', () => {
    const twice = makeRound({
      ...round,
      schedule: {
        ...round.schedule,
        turns: [
          ...round.schedule.turns,
          { stick: 2, load: 'A', room: null, startMinute: 200, endMinute: 210 },
          { stick: 3, load: 'A', room: null, startMinute: 200, endMinute: 210 },
        ],
      },
    });
    const tags = makeTags(twice, sampleRecords(twice)).map(({ load, stick, preparedAt }) => [
      load.id,
      stick,
      preparedAt,
    ]);
    expect(tags.slice(0, 4)).toEqual([
      ['A', 'CLY-FTJ', '2026-09-21T08:10:00+02:00'],
      ['A', null, null],
      ['A', null, null],
      ['B', null, null],
    ]);
  });
});

describe('the cover', () => {
  it('holds every room of the list exactly once', () => {
    const cover = makeCover(round, []);
    const withCards = round.rooms.filter(({ state }) => state === 'update').length;
    expect(cover.toUpdate + cover.upToDate.length + cover.needPerson.length).toBe(round.rooms.length);
    expect(withCards).toBe(cover.toUpdate);
    expect(cover.name).toBe('Quillhaven-north');
    expect(cover.wiping.map(({ room }) => room.key)).toEqual(['Assembly hall', 'Library']);
  });

  it('orders the turns by their beginning', () => {
    const starts = makeCover(round, []).turns.map(({ startMinute }) => startMinute);
    expect(starts).toEqual(starts.toSorted((a, b) => a - b));
    expect(starts.length).toBe(round.schedule.turns.length);
  });
});

describe('usual practice', () => {
  it('stands in where a family is silent, but never makes up a wait', () => {
    for (const mode of ['in-os', 'recovery'] as const) {
      const advice = panelAdvice(customaryRules(mode), mode);
      expect(advice.minutes).toBeNull();
      expect(advice.steps.length).toBeGreaterThan(3);
      expect(advice.never.length).toBeGreaterThan(2);
      expect(advice.after.length).toBeGreaterThan(3);
      expect(usualMinutes[mode].from).toBeLessThan(usualMinutes[mode].to);
    }
    expect(panelAdvice(customaryRules('recovery'), 'recovery').never).toContain('put this stick into any other panel');
  });

  it('gives way to what the family says', () => {
    const rules = {
      ...customaryRules('in-os'),
      steps: ['one'],
      never: ['two'],
      after: [],
      minutes: { from: 1, to: 2 },
    };
    expect(panelAdvice(rules, 'in-os')).toMatchObject({
      steps: ['one'],
      never: ['two'],
      after: [],
      minutes: { from: 1, to: 2 },
    });
  });
});
