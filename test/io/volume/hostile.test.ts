import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { ToolError } from '../../../src/core/model/tool-error.ts';
import { recogniseVolume } from '../../../src/core/volume-format/boot-sector.ts';
import { MemoryDevice } from '../../fixtures/volumes/memory-device.ts';
import { makeMemoryFat, openMemory } from '../../fixtures/volumes/open-memory.ts';
import { patterned, writeFile } from './conformance/stand.ts';

const mebibyte = 2 ** 20;
const kinds = [
  { kind: 'fat12', bytes: 2 * mebibyte },
  { kind: 'fat16', bytes: 8 * mebibyte },
  { kind: 'fat32', bytes: 36 * mebibyte },
] as const;

/** Opens, lists, reads everything: it may succeed or say by a ToolError that it cannot; nothing else, and it ends. */
async function lookAtEverything(device: MemoryDevice): Promise<'read' | 'refused'> {
  try {
    const volume = await openMemory(device, 'read');
    const { freeBytes, volumeBytes, mediumBytes } = volume.facts;
    expect(freeBytes).toBeGreaterThanOrEqual(0);
    expect(freeBytes).toBeLessThanOrEqual(volumeBytes);
    expect(volumeBytes).toBeLessThanOrEqual(mediumBytes ?? 0);
    let budget = 4 * mebibyte; // a damaged size may claim 4 GiB, which takes time but ends
    for (const entry of await volume.entries()) {
      if (entry.kind === 'folder' || budget < 0) continue;
      for await (const chunk of (await volume.open(entry.path, 'fresh')).chunks()) {
        budget -= chunk.length;
        if (budget < 0) break;
      }
    }
    await volume.close();
    return 'read';
  } catch (error) {
    if (error instanceof ToolError) return 'refused';
    throw error;
  }
}

describe.each(kinds)('a damaged $kind volume', ({ kind, bytes }) => {
  let sound: MemoryDevice;
  const copy = (): MemoryDevice => sound.copy();

  beforeAll(async () => {
    sound = await makeMemoryFat(bytes, { kind, ...(kind === 'fat32' ? { clusterBytes: 512 } : {}) });
    const volume = await openMemory(sound);
    await volume.makeFolder('images');
    await volume.makeFolder('images/deep');
    await writeFile(volume, 'images/deep/a long name for a part.img', patterned(30_000));
    await writeFile(volume, 'boot.pkg', patterned(100_000));
    await volume.close();
  });

  it('is read while it is sound', async () => {
    expect(await lookAtEverything(copy())).toBe('read');
  });

  // Every byte of the parameter block (FAT specification 1.03, sections 3.1 to 3.3), and the signature.
  it('with any one byte of its boot sector changed is read or refused', async () => {
    let refused = 0;
    for (const at of [...Array(kind === 'fat32' ? 90 : 62).keys(), 510, 511]) {
      for (const value of [0, 1, 0x80, 0xff]) {
        const device = copy();
        if (device.bytes(at, 1)[0] === value) continue;
        device.putBytes(at, new Uint8Array([value]));
        if ((await lookAtEverything(device)) === 'refused') refused++;
      }
    }
    expect(refused).toBeGreaterThan(30);
  });

  it('whose folder contains itself, or the root, is refused and does not go on for ever', async () => {
    const { fat } = recogniseVolume(sound.bytes(0, 512));
    if (fat === undefined) throw new Error('not sound');
    const deep = findSlot(sound, 'DEEP       ', bytes);
    const images = findSlot(sound, 'IMAGES     ', bytes);
    for (const target of [clusterAt(sound, images), fat.rootCluster ?? 0]) {
      const device = copy();
      setCluster(device, deep, target);
      // A cluster 0 is the root of FAT12 and FAT16; FatFs reads it so for any folder.
      expect(await lookAtEverything(device)).toBe('refused');
    }
  });

  it('with random bytes anywhere in its first sectors and folders is read or refused', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(Math.min(bytes, 600_000) - 1), fc.nat(255)), { minLength: 1, maxLength: 60 }),
        async (changes) => {
          const device = copy();
          for (const [at, value] of changes) device.putBytes(at, new Uint8Array([value]));
          await lookAtEverything(device);
        },
      ),
      { numRuns: 40, seed: 20_240_117 },
    );
  });

  it('that was cut short is refused', async () => {
    const half = MemoryDevice.of(sound.bytes(0, bytes / 2));
    await expect(openMemory(half, 'read')).rejects.toMatchObject({ code: 'stick/unsupported-file-system' });
  });
});

describe('random bytes', () => {
  it('are never taken for a volume, and never more than refused', async () => {
    await fc.assert(
      fc.asyncProperty(fc.uint8Array({ minLength: 0, maxLength: 4096 }), fc.boolean(), async (bytes, signed) => {
        const medium = new Uint8Array(4096);
        medium.set(bytes);
        if (signed) medium.set([0x55, 0xaa], 510);
        expect(await lookAtEverything(MemoryDevice.of(medium))).toBe('refused');
      }),
      { numRuns: 300, seed: 7 },
    );
  });
});

/**
 * The byte where the short slot of NAME lies; names in slots are padded with spaces (FAT specification, section 6.1).
 */
function findSlot(device: MemoryDevice, name: string, bytes: number): number {
  const at = Buffer.from(device.bytes(0, bytes)).indexOf(name, 0, 'latin1');
  if (at < 0) throw new Error(`no slot ${name}`);
  return at;
}

/** DIR_FstClusHI at 20, DIR_FstClusLO at 26. */
function clusterAt(device: MemoryDevice, slot: number): number {
  const view = new DataView(device.bytes(slot, 32).buffer);
  return view.getUint16(20, true) * 65_536 + view.getUint16(26, true);
}

function setCluster(device: MemoryDevice, slot: number, cluster: number): void {
  const view = new DataView(new ArrayBuffer(2));
  const put = (at: number, value: number): void => {
    view.setUint16(0, value, true);
    device.putBytes(slot + at, new Uint8Array(view.buffer));
  };
  put(20, Math.floor(cluster / 65_536));
  put(26, cluster % 65_536);
}
