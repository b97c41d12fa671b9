import { describe, expect, it } from 'vitest';
import type { Drive } from '../../src/core/model/drive.ts';
import { awaitStick, type StickWish } from '../../src/workflows/watch-drives.ts';
import { recordedDrive, withVolume } from '../fixtures/drives.ts';

const stick = recordedDrive('/dev/sda');
const bare = withVolume(stick, { mountPoints: [] });
const refused = recordedDrive('/dev/sdd');

/** There is no stick to plug in here: each LOOK is what a system answered, recorded. Ends after the last one. */
async function wait(looks: readonly (readonly Drive[])[], wish: Partial<StickWish> = {}) {
  const end = new AbortController();
  const notes: string[] = [];
  let at = 0;
  const found = await awaitStick(
    {
      families: [],
      offerThere: false,
      refuse: () => undefined,
      signal: end.signal,
      note: (line) => notes.push(line),
      ...wish,
    },
    {
      listDrives: async () => looks[at++] ?? [],
      pause: async () => {
        if (at >= looks.length) end.abort();
      },
    },
  );
  return { device: found?.device, mounted: found?.volumes[0]?.mountPoints.length, looked: at, notes };
}

describe('waiting for a stick', () => {
  it('takes the one that is plugged in, not the one that was there', async () => {
    expect(await wait([[stick], [stick], [stick]])).toMatchObject({ device: undefined });
    expect(await wait([[], [], [stick], []])).toMatchObject({ device: '/dev/sda', looked: 3 });
  });

  it('takes the one that was there where somebody is asked first', async () => {
    expect(await wait([[stick], []], { offerThere: true })).toMatchObject({ device: '/dev/sda', looked: 1 });
  });

  it('waits until the system has mounted it, but not for ever', async () => {
    expect(await wait([[], [bare], [bare], [stick], []])).toMatchObject({ device: '/dev/sda', mounted: 1 });
    const never = await wait([[], ...Array.from({ length: 20 }, () => [bare])]);
    expect(never).toMatchObject({ device: '/dev/sda', mounted: 0 });
    expect(never.looked).toBeLessThan(10);
  });

  it('never offers what is refused, and says why it leaves a stick out', async () => {
    expect(await wait([[], [refused], [refused]], { offerThere: true })).toMatchObject({
      device: undefined,
      notes: [],
    });
    const had = await wait([[], [stick], []], { refuse: () => 'it was dealt with already' });
    expect(had).toMatchObject({ device: undefined, notes: ['/dev/sda is left out: it was dealt with already.'] });
  });

  it('forgets one that was pulled before it was ready', async () => {
    expect(await wait([[], [bare], [], [], [], [], []])).toMatchObject({ device: undefined });
  });
});
