import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { FactsOf } from '../../../src/core/findings/catalogue.ts';
import type { Finding } from '../../../src/core/findings/finding.ts';
import { customaryRules } from '../../../src/core/model/customary-rules.ts';
import { loadFamilies } from '../../../src/io/families/load-families.ts';
import { buildArchive, crc32Of, extraField, pack } from '../../fixtures/archives/build-archive.ts';
import { firmwareTree, makeArchive, packageName } from '../../fixtures/desk.ts';
import { about, makeStick, planOf, putFile } from '../../fixtures/planned.ts';
import { makeScratch, type Scratch } from '../../fixtures/volumes/scratch.ts';

const mib = 2 ** 20;

let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

let count = 0;
const stickOf = (shape?: Parameters<typeof makeStick>[1]): Promise<string> =>
  makeStick(join(scratch.path, `stick ${++count}.img`), shape);

describe('a plan', { tags: ['plan-before-touch'] }, () => {
  it('lacks what the family requires at the root, and says where it lies instead', async () => {
    const { 'sedge_boot.pkg': boot = Buffer.alloc(0), ...others } = firmwareTree;
    const stick = await stickOf();
    const deeper = await makeArchive(scratch.path, { ...others, 'Package/sedge_boot.pkg': boot });
    const lacking = await planOf(deeper, stick);
    expect(about(lacking, 'plan/required-missing')).toMatchObject([
      { subject: 'sedge_boot.pkg', facts: { deeperAt: 'Package/sedge_boot.pkg' } },
    ]);
    expect(lacking).toMatchObject({ verdict: 'not-ready', state: 'refused' });
    const without = await planOf(await makeArchive(scratch.path, { 'sedge_boot.pkg': boot }), stick);
    expect(about(without, 'plan/required-missing')).toMatchObject([
      { subject: 'images/*.img', facts: { deeperAt: undefined } },
    ]);
    // FAT knows no case.
    const upper = await planOf(await makeArchive(scratch.path, { ...others, 'SEDGE_BOOT.PKG': boot }), stick);
    expect(about(upper, 'plan/required-missing')).toEqual([]);
  });

  it('has nothing of the firmware where the record goes', async () => {
    const stick = await stickOf();
    for (const name of ['stickwright', 'STICKWRIGHT/inside.txt', 'sw-part.tmp']) {
      const archive = await makeArchive(scratch.path, { ...firmwareTree, [name]: Buffer.from('firmware') });
      expect(about(await planOf(archive, stick), 'plan/name-is-the-tools')).toMatchObject([
        { subject: name.split('/')[0] },
      ]);
    }
    const deeper = await makeArchive(scratch.path, { ...firmwareTree, 'images/stickwright': Buffer.from('firmware') });
    expect(about(await planOf(deeper, stick), 'plan/name-is-the-tools')).toEqual([]);
  });

  it('has no file that is larger than FAT can hold, to the byte', async () => {
    const stick = await stickOf();
    for (const [bytes, isTooLarge] of [
      [2 ** 32 - 1, false],
      [2 ** 32, true],
    ] as const) {
      const found = about(await planOf(statedArchive(bytes), stick), 'plan/file-too-large');
      expect(found).toMatchObject(isTooLarge ? [{ subject: 'large.img', facts: { bytes } }] : []);
    }
  });

  it('needs no more slots than a fixed root has, to the slot', async () => {
    const stick = await stickOf({ bytes: 20 * mib, fileSystem: 'fat16' });
    const planFor = async (files: number): Promise<readonly Finding[]> => {
      // One slot each; the firmware's own root names and the tool's folders come on top.
      const more = Array.from({ length: files }, (_, at) => [`F${at}.BIN`, Buffer.from('.')] as const);
      const archive = await makeArchive(scratch.path, { ...firmwareTree, ...Object.fromEntries(more) });
      return about(await planOf(archive, stick), 'plan/root-full');
    };
    const [found] = await planFor(512);
    const { needed, free } = (found?.facts ?? {}) as FactsOf<'plan/root-full'>;
    // sedge_boot.pkg and release-note.txt 3 each, images and stickwright 2, the two folders for the work 1
    // (specification, section 7).
    expect([needed - 512, free]).toEqual([12, 512]);
    expect(await planFor(512 - (needed - free))).toEqual([]);
    expect(await planFor(512 - (needed - free) + 1)).toMatchObject([{ facts: { needed: free + 1, free } }]);
  });

  it('for a panel that wants nothing else at its root says what lies there, and sets nothing aside', async () => {
    const families = await loadFamilies(['samples/families/basalt.yaml']);
    const archive = await makeArchive(
      scratch.path,
      { 'BASALT.IMG': Buffer.from('firmware') },
      'basalt_86_24p_m3_r1047.zip',
    );
    const job = { families, label: '86 in 24P.M3', leftovers: 'set-aside' } as const;
    const stick = await stickOf();
    const plain = await planOf(archive, stick, job);
    expect(about(plain, 'plan/folder-beside-the-firmware')).toHaveLength(1);
    expect(about(plain, 'plan/aside-not-possible')).toEqual([]);
    await putFile(stick, 'letter.txt', Buffer.from('mine'));
    const beside = await planOf(archive, stick, job);
    expect(about(beside, 'plan/aside-not-possible')).toMatchObject([{ subject: 'letter.txt' }]);
    expect(beside.verdict).toBe('not-ready');
    const sedge = await planOf(await makeArchive(scratch.path), stick, { leftovers: 'set-aside' });
    expect(about(sedge, 'plan/folder-beside-the-firmware')).toEqual([]);
  });

  it('says what the panel will lose, in the mode that wipes it and in no other', async () => {
    const [archive, stick] = [await makeArchive(scratch.path), await stickOf()];
    expect(about(await planOf(archive, stick), 'plan/wipes-the-panel')).toMatchObject([
      { facts: { mode: 'recovery' } },
    ]);
    expect(about(await planOf(archive, stick, { mode: 'in-os' }), 'plan/wipes-the-panel')).toEqual([]);
    expect(customaryRules('recovery')['keeps-data']).toBe(false);
  });

  it('leaves room for its own record, and says when there is none', async () => {
    const stick = await stickOf();
    const free = (await planOf(await makeArchive(scratch.path), stick)).plan?.freeBytesNow ?? 0;
    // In one file at the root: its clusters, and what 1 file may need to be recorded (8,792 bytes) with folder and
    // entries.
    const clusters = free / 512;
    const recordClusters = Math.ceil(8792 / 512) + 6;
    for (const [more, missingBytes] of [
      [0, undefined],
      [1, 512],
    ] as const) {
      const bytes = (clusters - recordClusters + more) * 512;
      const planned = await planOf(statedArchive(bytes, packageName), stick);
      expect(planned.plan?.freeBytesAfter).toBe(missingBytes === undefined ? 0 : -missingBytes);
      expect(about(planned, 'plan/does-not-fit')).toMatchObject(
        missingBytes === undefined ? [] : [{ facts: { missingBytes } }],
      );
    }
  });
});

describe('a plan for a volume that a pull left in disorder', () => {
  it('goes on where writing anew mends what counts, and says once that the rest is to be repaired', async () => {
    const stick = await stickOf();
    const image = readFileSync(stick);
    const second = mib + image.readUInt16LE(mib + 14) * 512 + image.readUInt32LE(mib + 36) * 512;
    image.writeUInt32LE(0x0fffffff, second + 50_000 * 4);
    writeFileSync(stick, image);
    const planned = await planOf(await makeArchive(scratch.path), stick);
    expect(about(planned, 'stick/needs-repair')).toMatchObject([{ facts: { codes: ['medium/fat-copies-differ'] } }]);
    expect(planned.verdict).not.toBe('not-ready');
  });

  it('says where clusters that belong to no file are what is missing, and that it does not fit where they are not enough', async () => {
    const stick = await stickOf();
    const image = readFileSync(stick);
    const [table, tableBytes] = [mib + image.readUInt16LE(mib + 14) * 512, image.readUInt32LE(mib + 36) * 512];
    for (let cluster = 1000; cluster < 61_000; cluster++)
      for (const copy of [0, 1]) image.writeUInt32LE(0x0fffffff, table + copy * tableBytes + cluster * 4);
    // FSInfo: nobody knows how many are free (specification, section 5)
    image.fill(0xff, mib + 512 + 488, mib + 512 + 496);
    writeFileSync(stick, image);
    const lostBytes = 60_000 * 512;
    const free = (await planOf(await makeArchive(scratch.path), stick)).plan?.freeBytesNow ?? 0;
    const planned = await planOf(statedArchive(free + lostBytes / 2), stick);
    expect(about(planned, 'plan/space-belongs-to-nobody')).toMatchObject([{ facts: { lostBytes, freeBytes: free } }]);
    expect(about(planned, 'plan/does-not-fit')).toEqual([]);
    const larger = await planOf(statedArchive(free + lostBytes), stick);
    expect(about(larger, 'plan/space-belongs-to-nobody')).toEqual([]);
    expect(about(larger, 'plan/does-not-fit')).toHaveLength(1);
  });
});

/**
 * One stored file that both headers say has BYTES, with a Zip64 field as APPNOTE 4.5.3 wants it. Its data are cut
 * short: only plans read it.
 */
function statedArchive(bytes: number, name = packageName): string {
  const path = join(scratch.path, name);
  const data = Buffer.from('firmware');
  const wide = bytes >= 0xffffffff;
  const stated = wide ? { bytes: 0xffffffff, compressedBytes: 0xffffffff } : { bytes, compressedBytes: bytes };
  const extra = wide ? extraField(1, pack([bytes, 8], [bytes, 8])) : Buffer.alloc(0);
  const headers = { ...stated, extra, crc32: crc32Of(data) };
  writeFileSync(
    path,
    buildArchive({ entries: [{ name: 'large.img', data, method: 0, local: headers, central: headers }] }),
  );
  return path;
}
