import { describe, expect, it } from 'vitest';
import { checkProof } from '../../../src/core/checks/medium/check-proof.ts';
import { layOutStick } from '../../../src/io/format/lay-out-stick.ts';
import { proveFreeSpace } from '../../../src/io/prove/prove-free-space.ts';
import { openFatVolume } from '../../../src/io/volume/fat/open-fat-volume.ts';
import type { Volume } from '../../../src/io/volume/volume.ts';
import { type Behaviour, freshViewOf, simulateStick } from '../../fixtures/media/simulated-stick.ts';

const mib = 2 ** 20;
const bytes = 40 * mib;

/** A formatted stick with one file of somebody's on it. */
async function stickWith(behaviour: Behaviour): Promise<Volume> {
  const device = simulateStick(bytes, behaviour);
  const stick = layOutStick('stick', {
    bytes,
    fileSystem: 'fat32',
    partitioned: true,
    volumeSerial: 1,
    at: new Date(0x19e00000000),
  });
  for (const { sector, bytes: written } of stick.writes) device.writeSectors(sector, written);
  const volume = await openFatVolume({
    device,
    openFresh: freshViewOf(device),
    target: 'stick',
    kind: 'image',
    writeProtected: false,
    drive: undefined,
  });
  const writer = await volume.create('PHOTO.JPG', 6);
  await writer.write(Buffer.from('dear me'));
  await writer.close();
  return volume;
}

const running = (signal = new AbortController().signal) => ({ seed: '1122334455667788', signal, heard: () => {} });

async function contentOf(volume: Volume, path: string): Promise<string> {
  const chunks: Buffer[] = [];
  for await (const chunk of (await volume.open(path, 'fresh')).chunks()) chunks.push(Buffer.from(chunk));
  return Buffer.concat(chunks).toString();
}

describe('proving the free part of a stick', () => {
  it('says what it proved, takes its own files away and leaves those of others', async () => {
    const volume = await stickWith({ kind: 'honest' });
    const before = await volume.freeBytes();
    const facts = await proveFreeSpace(volume, running());
    expect(checkProof('stick', facts).map(({ code }) => code)).toEqual(['medium/proved-in-part']);
    expect(facts.testedBytes).toBeGreaterThan(before - 3 * mib);
    expect(await volume.freeBytes()).toBe(before);
    expect((await volume.entries()).map(({ path }) => path)).toEqual(['PHOTO.JPG']);
    expect(await contentOf(volume, 'PHOTO.JPG')).toBe('dear me');
    await volume.close();
  });

  it('finds a stick that drops what lies past a quarter of it', async () => {
    const volume = await stickWith({ kind: 'drops', realBytes: bytes / 4, fill: 0 });
    const facts = await proveFreeSpace(volume, running());
    expect(checkProof('stick', facts).map(({ code }) => code)).toEqual(['medium/areas-bad']);
    expect(facts.bad?.bytes).toBeGreaterThan(bytes / 2);
    await volume.close();
  });

  it('stopped in the middle, leaves nothing behind', async () => {
    const volume = await stickWith({ kind: 'honest' });
    const controller = new AbortController();
    const facts = await proveFreeSpace(volume, {
      ...running(controller.signal),
      heard: (stage) => stage === 'reading-back' && controller.abort(),
    });
    expect(checkProof('stick', facts).map(({ code }) => code)).toEqual(['medium/proof-unfinished']);
    expect((await volume.entries()).map(({ path }) => path)).toEqual(['PHOTO.JPG']);
    await volume.close();
  });
});
