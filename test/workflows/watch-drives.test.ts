import { describe, expect, it } from 'vitest';
import type { Drive } from '../../src/core/model/drive.ts';
import { watchDrives } from '../../src/workflows/watch-drives.ts';
import { recordedDrive, withVolume } from '../fixtures/drives.ts';

const stick = recordedDrive('/dev/sda');
const refused = recordedDrive('/dev/sdd');

/** There is no stick to plug in here: each LOOK is a list, or why there is none. Ends after the last one. */
async function watch(looks: readonly (readonly Drive[] | Error)[], all = false) {
  const end = new AbortController();
  const told: string[] = [];
  let [at, running, mostRunning] = [0, 0, 0];
  await watchDrives(
    { families: [], all },
    {
      listDrives: async () => {
        mostRunning = Math.max(mostRunning, ++running);
        await new Promise((resolve) => setImmediate(resolve));
        running--;
        const look = looks[at++] ?? [];
        if (look instanceof Error) throw look;
        return look;
      },
      pause: async () => {
        if (at === looks.length) end.abort();
      },
    },
    {
      signal: end.signal,
      listed: async (drives) => void told.push(`listed ${drives.map(({ device }) => device).join(' ')}`),
      happened: async ({ kind, device }) => void told.push(`${kind} ${device}`),
      failed: () => void told.push('failed'),
    },
  );
  return { told, mostRunning };
}

describe('a watch', () => {
  it('tells what is there, and then each change once, with one look at a time', async () => {
    const unmounted = withVolume(stick, { mountPoints: [] });
    const { told, mostRunning } = await watch([[], [stick], [stick], [unmounted], [refused], [refused]]);
    expect(told).toEqual(['listed ', 'came /dev/sda', 'changed /dev/sda1', 'went /dev/sda']);
    expect(mostRunning).toBe(1);
  });

  it('leaves out what is refused, unless all are wanted', async () => {
    expect((await watch([[refused], [refused, stick]])).told).toEqual(['listed ', 'came /dev/sda']);
    expect((await watch([[refused], [stick]], true)).told).toEqual([
      'listed /dev/sdd',
      'went /dev/sdd',
      'came /dev/sda',
    ]);
  });

  it('goes on after a look that failed, and says so once', async () => {
    const failure = new Error('no answer');
    expect((await watch([[stick], failure, failure, [stick], failure, []])).told).toEqual([
      'listed /dev/sda',
      'failed',
      'failed',
      'went /dev/sda',
    ]);
    await expect(watch([failure])).rejects.toThrow('no answer');
  });

  it('ends while a drive hangs', async () => {
    const end = new AbortController();
    const watching = watchDrives(
      { families: [], all: false },
      { listDrives: () => new Promise(() => {}), pause: async () => {} },
      { signal: end.signal, listed: async () => {}, happened: async () => {}, failed: () => {} },
    );
    end.abort();
    await expect(watching).resolves.toBeUndefined();
  });
});
