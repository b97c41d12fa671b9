import { expect, it } from 'vitest';
import { letterLoads } from '../../../../src/core/rounds/plan/stick-codes.ts';

it('letters loads as spreadsheets letter columns, in the order of their first turns', () => {
  const turns = Array.from({ length: 704 }, (_, at) => ({
    stick: 1,
    load: `${703 - at}`,
    room: null,
    startMinute: at,
    endMinute: at,
  }));
  const letters = letterLoads([...turns, ...turns]);
  expect(['703', '678', '677', '652', '2', '1', '0'].map((load) => letters.get(load))).toEqual([
    'A',
    'Z',
    'AA',
    'AZ',
    'ZZ',
    'AAA',
    'AAB',
  ]);
  expect(letters.size).toBe(704);
});
