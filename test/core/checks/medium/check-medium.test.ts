import { beforeAll, describe, expect, it } from 'vitest';
import { checkMedium, withoutRewritten } from '../../../../src/core/checks/medium/check-medium.ts';
import type { FactsOf, FindingCode } from '../../../../src/core/findings/catalogue.ts';
import { finding } from '../../../../src/core/findings/finding.ts';
import { stagingFolder } from '../../../../src/core/manifest/stick-names.ts';
import type { Mode } from '../../../../src/core/model/mode.ts';
import { ToolError } from '../../../../src/core/model/tool-error.ts';
import { auditMedium } from '../../../../src/core/volume-format/audit/audit-medium.ts';
import type { FatGeometry } from '../../../../src/core/volume-format/fat-geometry.ts';
import { layOutStick } from '../../../../src/io/format/lay-out-stick.ts';
import { auditDevice } from '../../../../src/io/medium/audit-medium-at.ts';
import { geometryOf } from '../../../fixtures/media/damages.ts';
import { readerOf } from '../../../fixtures/media/reader-of.ts';
import { MemoryDevice } from '../../../fixtures/volumes/memory-device.ts';
import { openMemory } from '../../../fixtures/volumes/open-memory.ts';

const mib = 2 ** 20;
/** All tables, folders and files of the small sticks lie in here; behind it there are zeros. */
const headBytes = 4 * mib;
const endOfChain = 0x0fffffff;

/** The head of a formatted stick with files on it, and where its structures lie (Microsoft FAT specification 1.03). */
class Stick {
  readonly image: Buffer;
  readonly bytes: number;
  /** Where the volume starts. */
  readonly base: number;

  constructor(image: Buffer, bytes: number, base: number) {
    this.image = image;
    this.bytes = bytes;
    this.base = base;
  }

  copy = (): Stick => new Stick(Buffer.from(this.image), this.bytes, this.base);

  get geometry(): FatGeometry {
    return geometryOf(this.image.subarray(this.base));
  }

  /** Where the slot of a short name lies, of eleven characters. */
  slot = (short: string): number => this.image.indexOf(short, this.rootAt, 'latin1');

  startOf = (short: string): number => this.image.readUInt16LE(this.slot(short) + 26);

  get rootAt(): number {
    const { rootCluster = 0, rootFirstSector } = this.geometry;
    return rootCluster === 0 ? this.base + rootFirstSector * 512 : this.clusterAt(rootCluster);
  }

  /** The first slot of the root that is not in use; all behind it are empty. */
  get rootEnd(): number {
    let at = this.rootAt;
    while (this.image[at] !== 0) at += 32;
    return at;
  }

  clusterAt(cluster: number): number {
    const { dataFirstSector, clusterBytes } = this.geometry;
    return this.base + dataFirstSector * 512 + (cluster - 2) * clusterBytes;
  }

  /** Sets an entry of FAT32's tables. */
  setEntry(cluster: number, value: number, tables: readonly number[] = [0, 1]): void {
    const { reservedSectors, fatSectors } = this.geometry;
    for (const table of tables)
      this.image.writeUInt32LE(value, this.base + (reservedSectors + table * fatSectors) * 512 + cluster * 4);
  }
}

async function makeStick(fileSystem: 'fat16' | 'fat32', bytes: number, partitioned: boolean): Promise<Stick> {
  const device = new MemoryDevice(bytes);
  const at = new Date('2026-09-14T06:00:00Z');
  const wish = { bytes, fileSystem, partitioned, volumeLabel: 'PANEL', volumeSerial: 1, at } as const;
  for (const { sector, bytes: written } of layOutStick('stick', wish).writes) device.putBytes(sector * 512, written);
  const volume = await openMemory(device);
  const put = async (path: string, length: number): Promise<void> => {
    const writer = await volume.create(path, length);
    await writer.write(Buffer.alloc(length, path));
    await writer.close();
  };
  await volume.makeFolder('SYSTEM');
  for (const path of ['SYSTEM/A.BIN', 'B.BIN', 'C.BIN', 'a long name.bin']) await put(path, 2000);
  await volume.flush();
  await volume.close();
  return new Stick(Buffer.from(device.bytes(0, headBytes)), bytes, partitioned ? mib : 0);
}

const codesOf = ({ image, bytes }: Stick, mode: Mode = 'recovery'): readonly string[] =>
  checkMedium(auditMedium(readerOf(image, bytes)), { target: 'stick', mode }).map(({ code }) => code);

let sound: Stick;
beforeAll(async () => {
  sound = await makeStick('fat32', 80 * mib, true);
});

const free = 500; // a cluster that no file has

type Damages = Readonly<Partial<Record<FindingCode, (stick: Stick) => void>>>;

/** One change each, at the offset that the specification gives. */
const damages: Damages = {
  'medium/volume-past-partition': ({ image }) => image.writeUInt32LE(image.readUInt32LE(458) - 100, 458),
  'medium/volume-smaller-than-partition': ({ image, base }) =>
    image.writeUInt32LE(image.readUInt32LE(base + 32) - 40_000, base + 32),
  'medium/extended-partition': ({ image }) => {
    image[466] = 0x05;
    image.writeUInt32LE(2000, 470);
    image.writeUInt32LE(8, 474);
  },
  // The boot sector, its copy, and FSInfo.
  'medium/boot-jump-missing': ({ image, base }) => image.writeUInt8(0, base + 2),
  'medium/media-byte-differs': ({ image, base }) => image.writeUInt8(0xf9, base + 21),
  'medium/hidden-sectors-differ': ({ image, base }) => image.writeUInt32LE(5, base + 28),
  'medium/mirroring-off': ({ image, base }) => image.writeUInt8(0x80, base + 40),
  'medium/backup-boot-missing': ({ image, base }) => image.writeUInt16LE(0, base + 50),
  'medium/labels-differ': ({ image, base }) => image.write('OTHER', base + 71, 'latin1'),
  'medium/backup-boot-differs': ({ image, base }) => image.writeUInt8(1, base + 6 * 512 + 300),
  'medium/fsinfo-missing': ({ image, base }) => image.writeUInt8(0, base + 512),
  'medium/fsinfo-free-wrong': ({ image, base }) => image.writeUInt32LE(7, base + 512 + 488),
  'medium/fsinfo-next-invalid': ({ image, base }) => image.writeUInt32LE(0x7fffffff, base + 512 + 492),
  // The tables: the second entry's two marks say "clean" and "no errors".
  'stick/dirty': (stick) => stick.setEntry(1, endOfChain & ~0x08000000),
  'medium/errors-recorded': (stick) => stick.setEntry(1, endOfChain & ~0x04000000),
  'medium/fat-start-wrong': (stick) => stick.setEntry(0, 0x000000f8),
  'medium/fat-copies-differ': (stick) => stick.setEntry(free, endOfChain, [1]),
  'medium/fat-entries-invalid': (stick) => stick.setEntry(free, 1),
  'medium/bad-clusters': (stick) => stick.setEntry(free, 0x0ffffff7),
  'medium/lost-clusters': (stick) => stick.setEntry(free, endOfChain),
  'medium/root-damaged': (stick) => stick.setEntry(stick.geometry.rootCluster ?? 0, 0),
  // Files: B.BIN has four clusters.
  'medium/cross-linked': (stick) =>
    stick.image.writeUInt16LE(stick.startOf('C       BIN'), stick.slot('B       BIN') + 26),
  'medium/chain-loops': (stick) => stick.setEntry(stick.startOf('B       BIN') + 1, stick.startOf('B       BIN')),
  'medium/chain-broken': (stick) => stick.setEntry(stick.startOf('B       BIN'), 0),
  'medium/chain-short': (stick) => stick.setEntry(stick.startOf('B       BIN'), endOfChain),
  'medium/chain-long': (stick) => stick.image.writeUInt32LE(10, stick.slot('B       BIN') + 28),
  'medium/start-cluster-invalid': (stick) => stick.image.writeUInt16LE(0x700, stick.slot('B       BIN') + 20),
  // Folders and names.
  'medium/folder-damaged': (stick) => stick.image.write('X', stick.clusterAt(stick.startOf('SYSTEM     ')), 'latin1'),
  'medium/folder-states-size': (stick) => stick.image.writeUInt32LE(5, stick.slot('SYSTEM     ') + 28),
  'medium/name-invalid': (stick) => stick.image.write('b', stick.slot('B       BIN'), 'latin1'),
  'medium/name-duplicate': (stick) => stick.image.write('B', stick.slot('C       BIN'), 'latin1'),
  'medium/long-name-orphan': (stick) => stick.image.write('X', stick.slot('ALONGN~1BIN'), 'latin1'),
  'medium/slot-damaged': (stick) => stick.image.writeUInt16LE(1, stick.slot('ALONGN~1BIN') - 32 + 26),
  'medium/stale-slots': (stick) => stick.image.writeUInt8(0xe5, stick.slot('B       BIN')),
  'medium/slots-after-end': (stick) => stick.image.writeUInt8(0xe5, stick.rootEnd + 32),
  'medium/names-after-end': (stick) => stick.image.write('AFTER   BIN', stick.rootEnd + 32, 'latin1'),
  'medium/several-labels': (stick) => {
    const at = stick.rootEnd;
    stick.image.write('SECOND     ', at, 'latin1');
    stick.image.writeUInt8(0x08, at + 11);
  },
  'medium/too-much-to-check': (stick) => nest(stick, 130),
};

/** So many folders, each in the one before, sound but for their number. */
function nest(stick: Stick, depth: number): void {
  const { image } = stick;
  const put = (at: number, short: string, start: number): void => {
    image.fill(0, at, at + 32);
    image.write(short.padEnd(11), at, 'latin1');
    image.writeUInt8(0x10, at + 11);
    image.writeUInt16LE(start, at + 26);
  };
  put(stick.rootEnd, 'D', free);
  for (let level = 0; level < depth; level++) {
    const [own, at] = [free + level, stick.clusterAt(free + level)];
    put(at, '.', own);
    put(at + 32, '..', level === 0 ? 0 : own - 1);
    if (level + 1 < depth) put(at + 64, 'D', own + 1);
    stick.setEntry(own, endOfChain);
  }
}

describe('what the sectors of a stick say', () => {
  it('is nothing where all is sound', () => expect([codesOf(sound), codesOf(sound, 'in-os')]).toEqual([[], []]));

  it.each(Object.entries(damages))('is %s after that change', (code, apply) => {
    const stick = sound.copy();
    apply(stick);
    expect(codesOf(stick)).toContain(code);
  });

  it('is another thing for an operating system than for a boot loader', () => {
    const stick = sound.copy();
    damages['medium/extended-partition']?.(stick);
    expect(codesOf(stick, 'in-os')).toContain('medium/extended-partition-for-os');
    damages['medium/stale-slots']?.(stick);
    expect(codesOf(stick, 'in-os')).not.toContain('medium/stale-slots');
  });

  it('is looked for in 128 folders one in the other, and no deeper', () => {
    const stick = sound.copy();
    nest(stick, 128);
    // What FSInfo counts is not touched by the change; the folders themselves are sound.
    expect(codesOf(stick)).toEqual(['medium/fsinfo-free-wrong']);
    const deeper = sound.copy();
    nest(deeper, 129);
    expect(codesOf(deeper)).toEqual(['medium/fsinfo-free-wrong', 'medium/too-much-to-check']);
  });

  it('is what can be read of it: the sectors that cannot are counted and named, and the rest is looked at', () => {
    const device = new MemoryDevice(sound.bytes);
    device.putBytes(0, sound.image);
    // The device throws what an operating system's EIO becomes.
    const bad = mib / 512 + sound.geometry.reservedSectors + sound.geometry.fatSectors + 3; // in the second table
    device.beforeRead = (first, into) => {
      if (first <= bad && bad < first + into.length / 512)
        throw new ToolError('stick/read-failed', 'stick', 'reading failed (EIO)', 'Retire it.');
    };
    const found = checkMedium(auditDevice(device), { target: 'stick', mode: 'recovery' });
    const told = found.find(({ code }) => code === 'medium/unreadable-sectors');
    const { firstSector, sectors } = (told?.facts ?? {}) as FactsOf<'medium/unreadable-sectors'>;
    expect([firstSector <= bad, bad < firstSector + sectors]).toEqual([true, true]);
    expect(found.map(({ code }) => code)).toContain('medium/fat-copies-differ');
  });

  it('is medium/root-slots-few where the root of FAT16 is nearly full', async () => {
    const stick = await makeStick('fat16', 20 * mib, false);
    expect(codesOf(stick)).toEqual([]);
    const end = stick.rootAt + stick.geometry.rootSlots * 32;
    const fill = (untilFree: number): void => {
      for (let at = stick.rootEnd, number = 0; at < end - untilFree * 32; at += 32, number++)
        stick.image.write(`F${at - stick.rootAt}-${number}`.slice(0, 8).padEnd(11), at, 'latin1');
    };
    fill(24);
    expect(codesOf(stick)).toEqual([]);
    fill(23);
    expect(codesOf(stick)).toEqual(['medium/root-slots-few']);
  });
});

// `npm run cuts -- cut-anywhere`, "larger": writes of a folder of two clusters that reach the medium in another order.
it('names behind the end of a folder stop a preparation but where they lie in its own unfinished work', {
  tags: ['work-goes-on'],
}, () => {
  const behind = (count: number, ...paths: string[]) =>
    withoutRewritten([finding('medium/names-after-end', 'stick', { count, paths })], false).map(({ code }) => code);
  expect(behind(1, `/${stagingFolder}/parts`)).toEqual([]);
  const stops: [number, ...string[]][] = [
    [1, '/parts'],
    [1, '/'],
    [1, `/${stagingFolder}s/parts`],
    [2, `/${stagingFolder}/parts`, '/parts'],
    [13, `/${stagingFolder}/parts`],
  ];
  for (const [count, ...paths] of stops)
    expect(behind(count, ...paths), paths.join()).toEqual(['medium/names-after-end']);
});
