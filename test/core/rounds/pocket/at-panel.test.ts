import { describe, expect, it } from 'vitest';
import { makeCards } from '../../../../src/core/rounds/cards/make-cards.ts';
import { makeTags } from '../../../../src/core/rounds/cards/make-cover.ts';
import { judgePlate, judgeStick } from '../../../../src/core/rounds/pocket/at-panel.ts';
import { loadFamilies } from '../../../../src/io/families/load-families.ts';
import { pocketOf } from '../../../fixtures/pockets.ts';
import { preparedOf, sampleRecords, sampleRound } from '../../../fixtures/round.ts';

const round = sampleRound();
const records = sampleRecords(round);
const families = await loadFamilies(['samples/families']);
const pocket = pocketOf(round, records, families, { rooms: ['Room 2.14', 'Assembly hall', 'Workshop 2'] });
const cardOf = (room: string) => {
  const card = makeCards(pocket.round, pocket.records).find((one) => one.room.key === room);
  if (card === undefined) throw new Error(room);
  return card;
};
const tagOf = (load: string, more = records) => {
  const tag = makeTags(round, more).find((one) => one.load.id === load);
  if (tag === undefined) throw new Error(load);
  return tag.code;
};
const room = cardOf('Room 2.14');

describe('a stick at a panel', () => {
  it.each(['CLY-FTJ', 'clyftj', 'cly ftj'])('is the right one by its code: %s', (typed) => {
    expect(judgeStick(typed, room, pocket)).toEqual({ state: 'right', stick: 'CLY-FTJ', by: 'file' });
  });

  it('is the right one by its scanned tag, also where this person has one of its rooms', () => {
    expect(pocket.round.loads.find(({ id }) => id === 'A')?.rooms).toEqual(['Room 2.14']);
    expect(judgeStick(tagOf('A'), room, pocket)).toMatchObject({ state: 'right', by: 'file' });
  });

  it('is stopped where it carries another load, and where nobody knows it', () => {
    expect(judgeStick('K7M-R4X', room, pocket)).toEqual({ state: 'wrong', stick: 'K7M-R4X', load: 'C' });
    expect(judgeStick(tagOf('C'), room, pocket)).toMatchObject({ state: 'wrong', load: 'C' });
    // Of another person's rooms: its tag says what it carries, its bare code nothing.
    expect(judgeStick(tagOf('D'), room, pocket)).toMatchObject({ state: 'wrong', load: 'D' });
    expect(judgeStick('WHN-3PA', room, pocket)).toEqual({ state: 'unknown', stick: 'WHN-3PA' });
    expect(judgeStick('CLY-FTI', room, pocket)).toEqual({ state: 'unknown', stick: 'CLY-FTI' });
  });

  it('that was prepared later is told by its tag, and only for the rooms that this names', () => {
    const load = round.loads.find(({ id }) => id === 'E');
    if (load === undefined) throw new Error('there is E');
    const tag = tagOf('E', [...records, preparedOf(load, 'PPP-PPP', 9)]);
    expect(judgeStick(tag, cardOf('Workshop 2'), pocket)).toEqual({ state: 'right', stick: 'PPP-PPP', by: 'tag' });
    expect(judgeStick(tag, room, pocket)).toEqual({ state: 'wrong', stick: 'PPP-PPP', load: 'E' });
  });

  it("is not told by the room's own card, nor by a tag that was printed before there was a stick", () => {
    expect(judgeStick(room.code, room, pocket)).toEqual({ state: 'no-stick' });
    expect(judgeStick(tagOf('E'), cardOf('Workshop 2'), pocket)).toEqual({ state: 'no-stick' });
  });
});

describe('the plate beside the list', () => {
  const plate = (typed: string) => judgePlate(typed, room.room, pocket);

  it.each(['K2-second 75/5B', 'k2–second 75/5b', ' K2-second  75/5B '])('agrees: %s', (typed) => {
    expect(plate(typed)).toMatchObject({ answer: 'agree', elsewhere: [], near: [] });
  });

  it.each(['K2-second 7S/5B', 'K2-second 75/SB', 'K2 second 75/5B', 'K2 -second 75/5B'])('is misread: %s', (typed) => {
    expect(plate(typed)).toMatchObject({ answer: 'misread', listed: 'K2-second 75/5B' });
  });

  it('differs, and is told what it reads as and where it hangs', () => {
    expect(plate('K3-fourth 65/1D')).toMatchObject({
      answer: 'differ',
      at: 1,
      reads: { parts: { factory: 'K3', generation: 'FOURTH', size: '65', series: '1D' } },
    });
    expect(plate('vx+098+am')).toMatchObject({ answer: 'differ', elsewhere: ['Assembly hall'] });
    expect(plate('nonsense')).toMatchObject({ answer: 'differ', reads: undefined });
  });
});
