import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { writeCardCode } from '../../../../src/core/rounds/records/card-code.ts';
import { findRoom, type PanelHint } from '../../../../src/core/rounds/records/find-room.ts';
import { makeRoom } from '../../../fixtures/round.ts';

const none: PanelHint = { label: undefined, serial: undefined };
const rooms = [
  makeRoom({ key: 'Fernmoor 1.01', asset: 'QSA-04107', serial: 'SD031920' }),
  makeRoom({ key: 'Fernmoor 1.06', asset: 'QSA-04142', serial: 'SD032485' }),
  makeRoom({ key: 'Fernmoor 2.14', asset: 'QSA-04200', serial: 'SD033999' }),
  makeRoom({ key: 'Hall · QSA-1', room: 'Hall', label: 'home-first 110/5B', asset: 'QSA-1', serial: 'SD9' }),
  makeRoom({ key: 'Hall · QSA-2', room: 'Hall', label: 'K2-second 75/5B', asset: 'QSA-2', serial: 'SD8' }),
  makeRoom({ key: 'Zeichensaal', room: 'Zeichensaal' }),
];
const find = (typed: string, hint = none) => {
  const answer = findRoom(typed, rooms, hint);
  switch (answer.state) {
    case 'one':
      return answer.room.key;
    case 'several':
      return answer.rooms.map(({ key }) => key);
    case 'none':
      return { near: answer.near.map(({ key }) => key) };
  }
};

describe('the room that a person means', () => {
  it('is found by name, key, asset tag or serial, without regard to case, dashes and spaces', () => {
    for (const typed of ['Fernmoor 1.01', ' fernmoor  1.01 ', 'QSA-04107', 'qsa–04107', 'sd031920', 'FERNMOOR 1.01']) {
      expect(find(typed), typed).toBe('Fernmoor 1.01');
    }
    expect(find('Hall · QSA-2')).toBe('Hall · QSA-2');
  });

  it('is found by whole words, a beginning, or the first digits of a serial, where one room only fits', () => {
    expect(find('1.06')).toBe('Fernmoor 1.06');
    expect(find('zeich')).toBe('Zeichensaal');
    expect(find('SD0339')).toBe('Fernmoor 2.14');
    expect(find('Fernmoor')).toEqual(['Fernmoor 1.01', 'Fernmoor 1.06', 'Fernmoor 2.14']);
    expect(find('SD03')).toHaveLength(3);
  });

  it('is never guessed: a number is not cut, and what is near is only shown', () => {
    expect(find('Fernmoor 2.1')).toEqual({ near: expect.arrayContaining(['Fernmoor 2.14']) });
    expect(find('Fernmoor 1.0')).toEqual({ near: expect.arrayContaining(['Fernmoor 1.01', 'Fernmoor 1.06']) });
    expect(find('1.6')).toEqual({ near: ['Fernmoor 1.06'] });
    expect(find('Femmoor 1.01')).toEqual({ near: expect.arrayContaining(['Fernmoor 1.01']) });
    expect(find('Gymnasium')).toEqual({ near: [] });
    expect(find('  ')).toEqual({ near: [] });
  });

  it('of two panels in one room is told by label or serial; a hint that fits neither leaves both', () => {
    expect(find('Hall')).toEqual(['Hall · QSA-1', 'Hall · QSA-2']);
    expect(find('Hall', { label: 'home-first 110/5b', serial: undefined })).toBe('Hall · QSA-1');
    expect(find('Hall', { label: undefined, serial: 'SD8' })).toBe('Hall · QSA-2');
    expect(find('Hall', { label: 'K2-second 86/5B', serial: undefined })).toHaveLength(2);
  });

  it('is read from the code of a card, with its stick', () => {
    const scanned = writeCardCode({ load: 'A', stick: 'CLY-FTJ', rooms: ['Fernmoor 1.06'], more: 0 });
    expect(findRoom(`${scanned}\r\n`, rooms, none)).toMatchObject({ room: { key: 'Fernmoor 1.06' }, stick: 'CLY-FTJ' });
    const tag = writeCardCode({ load: 'A', stick: 'CLY-FTJ', rooms: ['Fernmoor 1.01', 'Fernmoor 1.06'], more: 0 });
    expect(find(tag)).toEqual(['Fernmoor 1.01', 'Fernmoor 1.06']);
    const other = writeCardCode({ load: 'A', stick: null, rooms: ['Fernmoor 1.02'], more: 0 });
    expect(find(other)).toEqual({ near: expect.arrayContaining(['Fernmoor 1.01']) });
  });

  it('is the room itself for the whole of any list, and never one whose number goes on', () => {
    const numbers = fc.uniqueArray(fc.integer({ min: 1, max: 3000 }), { minLength: 1, maxLength: 40 });
    fc.assert(
      fc.property(numbers, fc.integer({ min: 1, max: 3000 }), (list, typed) => {
        const all = list.map((number) => makeRoom({ key: `Room ${number}` }));
        for (const { key } of all) expect(findRoom(key, all, none)).toMatchObject({ state: 'one', room: { key } });
        const answer = findRoom(`Room ${typed}`, all, none);
        expect(answer.state === 'one').toBe(list.includes(typed));
      }),
    );
  });
});
