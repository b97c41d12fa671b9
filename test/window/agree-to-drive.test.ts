import { expect, it } from 'vitest';
import type { StickAnswer } from '../../src/core/report/reports.ts';
import type { TargetSeen } from '../../src/core/report/window-talk.ts';
import { agreeToDrives } from '../../src/server/agree-to-drive.ts';
import type { AskedAgreement, AtWork, DeskAtHand } from '../../src/server/desk-at-hand.ts';

const seen = (target: string, doubt: string | undefined): Partial<TargetSeen> => ({
  target,
  doubt,
  name: target,
  bytes: 16e9,
});
const desk = {
  targets: [
    seen('/media/stick', undefined),
    seen('/media/card', 'it is a fixed drive'),
    seen('/media/disk', 'it is fixed'),
  ],
} as unknown as DeskAtHand;
const planned = (...targets: string[]) => targets.map((target) => ({ target, state: 'planned' }) as StickAnswer);

/** Somebody who types TYPED whenever anything is asked. */
function typing(typed: string) {
  const asked: AskedAgreement[] = [];
  const at = {
    ask: async (_: unknown, agreement: AskedAgreement) => {
      asked.push(agreement);
      return agreement.isRight?.(typed) === true;
    },
  } as unknown as AtWork;
  return { asked, at };
}

it('every drive that is no stick wants its own size, a stick wants none, and one no is the end', {
  tags: ['only-the-stick'],
}, async () => {
  const right = typing('16 GB');
  expect(await agreeToDrives(desk, planned('/media/stick', '/media/card', '/media/disk'), right.at, undefined)).toBe(
    true,
  );
  expect(right.asked.map(({ words }) => /opened as (\S+),/.exec(words)?.[1])).toEqual(['/media/card', '/media/disk']);
  for (const wrong of ['', ' ', '32 GB', 'yes', '16']) {
    const { asked, at } = typing(wrong);
    expect(await agreeToDrives(desk, planned('/media/card', '/media/disk'), at, undefined), wrong).toBe(false);
    expect(asked).toHaveLength(1);
  }
  const none = typing('');
  expect(await agreeToDrives(desk, planned('/media/stick'), none.at, undefined)).toBe(true);
  expect(
    await agreeToDrives(
      desk,
      [{ target: '/media/card', state: 'refused' } as unknown as StickAnswer],
      none.at,
      undefined,
    ),
  ).toBe(true);
  expect(none.asked).toEqual([]);
});
