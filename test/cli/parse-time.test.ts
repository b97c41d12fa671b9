import { spawnSync } from 'node:child_process';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as z from 'zod';
import { localTime, parseTime } from '../../src/io/rounds/local-time.ts';
import { needs } from '../outside/needs.ts';

const now = new Date(2026, 10, 3, 15, 0, 0).getTime();

describe('a time that a person writes', () => {
  it('is taken as RFC 3339 where it is such, with its own offset', () => {
    expect(parseTime('2026-11-03T07:40:00+01:00', now)).toBe('2026-11-03T07:40:00+01:00');
    expect(parseTime('2026-11-03 07:40Z', now)).toBe('2026-11-03T07:40:00Z');
    expect(parseTime('2026-11-03t07:40:00.5z', now)).toBe('2026-11-03T07:40:00.5Z');
  });

  it('is local otherwise: a day and a time, or a time of today', () => {
    const local = localTime(new Date(2026, 10, 3, 7, 40, 0));
    for (const text of [
      '2026-11-03 07:40',
      '3.11.2026 7:40',
      '03.11.2026, 07.40',
      '07:40',
      '7:40',
      '7.40',
      ' ０７:４０ ',
    ]) {
      expect(parseTime(text, now), text).toBe(local);
    }
  });

  it('is nothing where no clock shows it', () => {
    const wrong = [
      '25:00',
      '07:60',
      '7',
      'soon',
      '',
      '2026-02-30 07:40',
      '2026-02-30T07:40:00Z',
      '31.11.2026 07:40',
      '2026-11-03',
    ];
    for (const text of [...wrong, '2026-11-03T24:00:00Z', '2026-11-03T07:40:00+25:00']) {
      expect(parseTime(text, now), text).toBeUndefined();
    }
  });

  it('comes back as the same moment, in a form that a record takes', () => {
    fc.assert(
      fc.property(
        fc.date({ min: new Date('1990-01-01'), max: new Date('2090-01-01'), noInvalidDate: true }),
        (date) => {
          date.setMilliseconds(0);
          const text = localTime(date);
          expect(z.iso.datetime({ offset: true }).safeParse(text).success).toBe(true);
          expect(Date.parse(text)).toBe(date.getTime());
          expect(parseTime(text, now)).toBe(text);
        },
      ),
    );
  });

  needs({ date: 'coreutils' })('agrees with date(1), also where the clock is put forward or back', () => {
    const zone = 'Europe/Berlin';
    const said = ['2026-03-29 01:59', '2026-03-29 03:00', '2026-10-25 03:00', '2026-07-01 12:00'];
    const outside = said.map((text) =>
      spawnSync('date', ['-d', text, '+%Y-%m-%dT%H:%M:%S%:z'], {
        encoding: 'utf8',
        env: { ...process.env, TZ: zone },
      }).stdout.trim(),
    );
    const before = process.env.TZ;
    process.env.TZ = zone;
    try {
      expect(said.map((text) => parseTime(text, now))).toEqual(outside);
      expect(parseTime('2026-03-29 02:30', now)).toBeUndefined();
    } finally {
      if (before === undefined) delete process.env.TZ;
      else process.env.TZ = before;
    }
  });
});
