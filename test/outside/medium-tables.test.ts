import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { afterAll, describe, expect } from 'vitest';
import { checkMedium } from '../../src/core/checks/medium/check-medium.ts';
import { auditMedium } from '../../src/core/volume-format/audit/audit-medium.ts';
import { otherVolumesOn } from '../../src/core/volume-format/audit/volumes-on-medium.ts';
import { createStickImage } from '../../src/io/format/image-files.ts';
import { readerOf } from '../fixtures/media/reader-of.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'tables-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const outside = needs({ sfdisk: 'fdisk', 'mkfs.exfat': 'exfatprogs' });
const mib = 2 ** 20;

const codesOf = (image: Uint8Array, mode: 'recovery' | 'in-os' = 'recovery'): readonly string[] =>
  checkMedium(auditMedium(readerOf(image)), { target: 'stick', mode }).map(({ code }) => code);

async function soundStick(): Promise<Buffer> {
  const path = join(folder, 'sound.img');
  rmSync(path, { force: true });
  await createStickImage(path, {
    bytes: 40 * mib,
    fileSystem: 'fat32',
    partitioned: true,
    volumeSerial: 1,
    at: new Date(0x19e00000000),
  });
  return readFileSync(path);
}

/** A table as sfdisk, a partitioner that nobody here wrote, makes it. */
function partition(script: string, name = 'table.img'): Buffer {
  const path = join(folder, name);
  writeFileSync(path, '');
  truncateSync(path, 40 * mib);
  execFileSync('sfdisk', ['--quiet', path], { input: script });
  return readFileSync(path);
}

/** Whole numbers below a bound, the same for the same seed (Park and Miller). */
function drawFrom(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (state * 48_271) % 2_147_483_647;
    return state % below;
  };
}

/** Up to three primaries with any type byte, and often a container with up to six logical drives, in MiB of 40. */
function drawMbr(draw: (below: number) => number): string {
  const types = ['b', 'c', 'e', '7', '83', '1c', '27', 'da', 'ef'];
  const type = (): string => types[draw(types.length)] ?? 'c';
  const lines = Array.from(
    { length: 1 + draw(3) },
    (_, at) => `start=${2048 * (1 + at * 4)}, size=4096, type=${type()}`,
  );
  const logical = Array.from({ length: draw(7) }, () => `size=2048, type=${type()}`);
  const container = `start=${2048 * 16}, size=${2048 * 20}, type=${['5', 'f', '85'][draw(3)]}`;
  return ['label: dos', ...lines, ...(draw(4) > 0 ? [container, ...logical] : []), ''].join('\n');
}

function drawGpt(draw: (below: number) => number): string {
  const lines = Array.from(
    { length: 1 + draw(12) },
    (_, at) => `${1 + at * (1 + draw(9))}: start=${2048 * (1 + at * 3)}, size=2048`,
  );
  return [
    'label: gpt',
    'table-length: 256',
    ...new Map(lines.map((line) => [line.split(':')[0], line])).values(),
    '',
  ].join('\n');
}

const gpt = 'label: gpt\nstart=2048, type=EBD0A0A2-B9E5-4433-87C0-68B6B72699C7\n';

/**
 * What one change of a sound GPT or MBR must be called. Offsets: UEFI specification 2.10, tables 5.1, 5.2, 5.5 and 5.6.
 */
describe('partition tables', () => {
  outside('the sound ones of sfdisk are sound, but for the volume that is missing in them', () => {
    expect(codesOf(partition(gpt))).toEqual(['medium/boot-sector-damaged']);
    expect(codesOf(partition('label: dos\nstart=2048, type=c\n'))).toEqual(['medium/boot-sector-damaged']);
  });

  outside('each damage of an MBR has its code', async () => {
    const sound = await soundStick();
    const change = (apply: (image: Buffer) => void, mode: 'recovery' | 'in-os' = 'recovery'): readonly string[] => {
      const image = Buffer.from(sound);
      apply(image);
      return codesOf(image, mode);
    };
    expect(change(() => {})).toEqual([]);
    expect(change((image) => image.writeUInt8(0x12, 446))).toContain('medium/boot-byte-invalid');
    expect(change((image) => image.writeUInt8(0x83, 450), 'in-os')).toContain('medium/partition-type-not-mounted');
    expect(change((image) => image.writeUInt8(0x83, 450))).toContain('medium/partition-type-not-mounted-at-boot');
    expect(change((image) => image.writeUInt8(0x07, 450))).toContain('medium/partition-type-misleading');
    expect(change((image) => image.writeUInt32LE(0x7fffffff, 458))).toContain('medium/partition-past-end');
    expect(change((image) => image.writeUInt32LE(0, 458))).toContain('medium/partition-without-place');
    expect(change((image) => image.copy(image, 462, 446, 462))).toContain('medium/partitions-overlap');
    expect(change((image) => image.writeUInt8(0x05, 466))).toContain('medium/partition-without-place');
    expect(change((image) => image.writeUInt8(0xee, 466))).toContain('medium/gpt-missing');
    expect(change((image) => image.fill(0, 0, 512))).toEqual(['medium/nothing-recognised']);
    expect(change((image) => image.fill(0, mib, mib + 512))).toEqual(['medium/boot-sector-damaged']);
    expect(change((image) => image.write('NOTHING!', mib + 82, 'latin1'))).toContain('medium/type-text-missing');
    expect(change((image) => image.write('NOTHING!', mib + 82, 'latin1'), 'in-os')).toContain(
      'medium/type-text-missing-for-os',
    );
  });

  outside('the rest of a GPT behind a new MBR is found at either end', async () => {
    const old = partition(gpt);
    const sound = await soundStick();
    const front = Buffer.from(sound);
    old.copy(front, 512, 512, 34 * 512);
    expect(codesOf(front)).toEqual(['medium/gpt-leftover']);
    const back = Buffer.from(sound);
    old.copy(back, back.length - 512, old.length - 512);
    expect(codesOf(back)).toEqual(['medium/gpt-leftover']);
    expect(codesOf(back, 'in-os')).toEqual(['medium/gpt-leftover-for-os']);
  });

  // Whatever a partitioner and the kernels that number alike would show is followed; the tables are drawn by a fixed
  // seed.
  outside(
    'every partition that sfdisk lists is one that is looked at',
    () => {
      const draw = drawFrom(7);
      let partitions = 0;
      for (let round = 0; round < 16; round++) {
        const isGpt = draw(3) === 0;
        const image = partition(isGpt ? drawGpt(draw) : drawMbr(draw), 'drawn.img');
        const listed = execFileSync('sfdisk', ['--json', join(folder, 'drawn.img')], { encoding: 'utf8' });
        const table: { partitiontable: { partitions: { node: string; type: string }[] } } = JSON.parse(listed);
        const shown = table.partitiontable.partitions
          .filter(({ type }) => !['5', 'f', '85'].includes(type))
          .map(({ node }) => Number(/\d+$/.exec(node)?.[0]));
        const found = otherVolumesOn(readerOf(image), -1).map(({ number }) => number);
        partitions += shown.length;
        expect(found.toSorted(), listed).toEqual(shown.toSorted());
      }
      expect(partitions).toBeGreaterThan(60);
    },
    60_000,
  );

  outside('each damage of a GPT has its code', () => {
    const sound = partition(gpt);
    const change = (apply: (image: Buffer) => void): readonly string[] => {
      const image = Buffer.from(sound);
      apply(image);
      return codesOf(image).filter((code) => code !== 'medium/boot-sector-damaged');
    };
    const end = sound.length - 512;
    expect(change((image) => image.writeUInt32LE(0, 512))).toContain('medium/gpt-missing');
    expect(change((image) => image.writeUInt32LE(1, 512 + 16))).toEqual(['medium/gpt-header-damaged']);
    expect(change((image) => image.writeUInt32LE(9999, 512 + 12))).toEqual(['medium/gpt-header-damaged']);
    expect(change((image) => image.writeUInt8(7, 1024 + 40))).toEqual(['medium/gpt-entries-damaged']);
    expect(change((image) => image.writeUInt32LE(1, end + 16))).toEqual(['medium/gpt-backup-damaged']);
    expect(change((image) => image.fill(0, end))).toEqual(['medium/gpt-backup-damaged']);
    expect(change((image) => image.writeUInt8(0x0c, 466))).toContain('medium/hybrid-table');
    // Last sectors of the first entry, at 1024 + 40: before its first, and past the medium. The sums are right again.
    for (const lastLba of [7n, 2n ** 40n]) {
      const codes = change((image) => {
        image.writeBigUInt64LE(lastLba, 1024 + 40);
        sumAgain(image, 512);
      });
      expect(codes).toEqual(['medium/gpt-entry-invalid', 'medium/gpt-backup-damaged']);
    }
  });

  /** Writes the checksums of the entries (table 5.5, offset 88) and of the header (16) anew. */
  function sumAgain(image: Buffer, header: number): void {
    const entries = Number(image.readBigUInt64LE(header + 72)) * 512;
    const entryBytes = image.readUInt32LE(header + 80) * image.readUInt32LE(header + 84);
    image.writeUInt32LE(crc32(image.subarray(entries, entries + entryBytes)), header + 88);
    image.writeUInt32LE(0, header + 16);
    image.writeUInt32LE(crc32(image.subarray(header, header + image.readUInt32LE(header + 12))), header + 16);
  }

  outside('each damage of an exFAT boot region has its code', () => {
    const path = join(folder, 'exfat.img');
    writeFileSync(path, '');
    truncateSync(path, 8 * mib);
    execFileSync('mkfs.exfat', ['-L', 'PANEL', path]);
    const sound = readFileSync(path);
    const change = (apply: (image: Buffer) => void): readonly string[] => {
      const image = Buffer.from(sound);
      apply(image);
      return codesOf(image);
    };
    expect(change(() => {})).toEqual([]);
    const facts = auditMedium(readerOf(sound)).volumes[0];
    expect(facts).toMatchObject({ fileSystem: 'exfat', label: 'PANEL', audited: true });
    // exFAT specification, section 3.1: offsets of the fields.
    expect(change((image) => image.writeUInt8(0x02, 106))).toEqual(['stick/dirty']);
    expect(change((image) => image.writeUInt8(0x04, 106))).toEqual(['medium/exfat-media-failure']);
    expect(change((image) => image.writeUInt8(image.readUInt8(100) ^ 1, 100))).toEqual([
      'medium/exfat-checksum-wrong',
      'medium/exfat-backup-differs',
    ]);
    expect(change((image) => image.writeUInt8(1, 12 * 512 + 100))).toEqual(['medium/exfat-backup-differs']);
    for (const at of [80, 84, 88, 92, 96, 108, 109, 110])
      expect(change((image) => image.writeUInt8(0xff, at + (at < 108 ? 3 : 0)))).toEqual(['medium/exfat-boot-damaged']);
    // 3.1.18, and the entries of the root folder: 7.1 (bitmap, 0x81) and 7.2 (up-case table, 0x82), of which one is out
    // of use after it.
    expect(change((image) => image.writeUInt8(60, 112))).toEqual(['medium/exfat-percent-wrong']);
    const rootAt = sound.readUInt32LE(88) * 512 + (sound.readUInt32LE(96) - 2) * 512 * 2 ** sound.readUInt8(109);
    const entryOf = (type: number): number => {
      let at = rootAt;
      while (sound[at] !== type) at += 32;
      return at;
    };
    expect(change((image) => image.writeUInt8(0x01, entryOf(0x81)))).toEqual(['medium/exfat-root-damaged']);
    expect(change((image) => image.writeUInt8(0x02, entryOf(0x82)))).toEqual([
      'medium/exfat-upcase-damaged',
      'medium/lost-clusters', // the table's own
    ]);
    expect(change((image) => image.writeUInt8(1, entryOf(0x81) + 24))).toContain('medium/exfat-root-damaged');
  });
});
