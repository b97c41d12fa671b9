import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { withOwnDigest } from '../../src/core/documents/own-digest.ts';
import { keyName, sealedText } from '../../src/core/manifest/build-manifest.ts';
import { manifestPath, sealPath } from '../../src/core/manifest/stick-names.ts';
import type { Manifest } from '../../src/core/model/manifest.ts';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { WorkEvent } from '../../src/core/report/reports.ts';
import type { WaysAsked } from '../../src/core/volume-format/audit/way-tree.ts';
import { sha256 as nodeSha256 } from '../../src/io/digest/node-digest.ts';
import { keyFiles, newDeskKey } from '../../src/io/files/desk-key.ts';
import type { OpenVolume } from '../../src/io/volume/volume.ts';
import type { Ports } from '../../src/workflows/ports.ts';
import type { PrepareRequest } from '../../src/workflows/prepare-sticks.ts';
import { checkSameStick, openAgain } from '../../src/workflows/stick/check-same-stick.ts';
import {
  firmwareTree,
  makeArchive,
  makePublishedArchive,
  noise,
  packageName,
  panelLabel,
  sha256,
} from '../fixtures/desk.ts';
import {
  copyStick,
  deviceOf,
  memoryPorts,
  newStick,
  openingWith,
  openStick,
  prepare,
  putInto,
  readStick,
} from '../fixtures/memory-sticks.ts';
import { codesOf } from '../fixtures/returned.ts';
import { change, look } from '../fixtures/verified.ts';

let folder: string;
let archivePath: string;
let made: string;
let whole: string;
let sealed: string;
let desk: NonNullable<Ports['deskKey']>;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright again-'));
  archivePath = await archiveWith({});
  const key = (name: string) => newDeskKey(keyFiles({ STICKWRIGHT_SEAL_KEY: join(folder, `${name}.key`) }));
  desk = key('desk');
  [made, whole, sealed] = [await newStick(), await newStick(), await newStick()];
  await prepare({ archivePath, targets: [made] });
  await prepare({ archivePath, targets: [whole], mode: 'in-os' });
  await prepare({ archivePath, targets: [sealed] }, { ...memoryPorts, deskKey: desk });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** The package with some other files, and its published hash, in a folder of its own. */
async function archiveWith(files: Readonly<Record<string, Buffer>>, name = packageName): Promise<string> {
  const place = mkdtempSync(join(folder, 'archive-'));
  const path = await makePublishedArchive(place, { ...firmwareTree, ...files }, name);
  return path;
}

/** The package with a comment behind its directory, which stays the same (APPNOTE 6.3.10, 4.3.16). */
async function commented(): Promise<string> {
  const path = await archiveWith({});
  const comment = Buffer.from('said later');
  const bytes = readFileSync(path);
  bytes.writeUInt16LE(comment.length, bytes.length - 2);
  writeFileSync(path, Buffer.concat([bytes, comment]));
  writeFileSync(`${path}.sha256`, `${sha256(readFileSync(path))}  ${packageName}\n`);
  return path;
}

/** What the same command, with some other WISH, does to a copy of STICK. */
async function again(stick: string, wish: Partial<PrepareRequest> = {}, ports = memoryPorts) {
  const [answer] = (await prepare({ archivePath, targets: [copyStick(stick)], ...wish }, ports)).report.sticks;
  if (answer === undefined) throw new Error('there is an answer for each stick');
  const written = answer.plan?.items.flatMap((item) => (item.action === 'write' ? [item.path] : []));
  return { ...answer, codes: codesOf(answer.findings), written };
}

describe('a stick that is right already', { tags: ['plan-before-touch'] }, () => {
  test('is read and left as it is, to the last sector', async () => {
    for (const [stick, ports] of [
      [made, memoryPorts],
      [sealed, memoryPorts],
      [sealed, { ...memoryPorts, deskKey: desk }],
    ] as const) {
      deviceOf(stick).writes = 0;
      const [answer] = (await prepare({ archivePath, targets: [stick] }, ports)).report.sticks;
      expect(answer).toMatchObject({ state: 'unchanged', verdict: 'ready', plan: { nothingToDo: true } });
      expect(deviceOf(stick).writes).toBe(0);
    }
  });

  test('is of this archive, mode and label, and of no other that looks like it', async () => {
    // The same name, length and sizes: only the archive's directory tells them apart.
    const other = await archiveWith({ 'images/touch.img': noise(99, 4096) });
    expect(readFileSync(other)).toHaveLength(readFileSync(archivePath).length);
    expect(await again(whole, { mode: 'in-os' })).toMatchObject({ state: 'unchanged' });
    expect(await again(whole, { mode: 'in-os', archivePath: other })).toMatchObject({ state: 'refused' });
    expect((await again(whole, { mode: 'in-os', archivePath: other })).codes).toContain('stick/name-taken');
    const replaced = await again(whole, { mode: 'in-os', archivePath: other, leftovers: 'remove' });
    expect(replaced).toMatchObject({ state: 'written', written: [packageName] });
    // Another length in the same name, and another name for the same bytes.
    const longer = await archiveWith({ 'release-note.txt': Buffer.from('longer than it was\n') });
    expect((await again(made, { archivePath: longer, leftovers: 'remove' })).written).toEqual(['release-note.txt']);
    const renamed = await archiveWith({}, 'reed.1718_5B_second_K2.zip');
    expect(await again(made, { archivePath: renamed })).toMatchObject({ state: 'written', written: [] });
    expect(await again(made, { archivePath: await commented() })).toMatchObject({ state: 'written', written: [] });
    expect(await again(made, { label: panelLabel.toLowerCase() })).toMatchObject({ state: 'unchanged' });
    expect(await again(made, { label: 'K2-second 86/5B' })).toMatchObject({ state: 'written', written: [] });
    expect(await again(made, { mode: 'in-os', leftovers: 'remove' })).toMatchObject({ written: [packageName] });
  });

  test('whose record is not whole, or not this desk’s, gets a new one and nothing else', async () => {
    const record = await readStick(made, 'stickwright/checksums.sha256');
    record[0] = (record[0] ?? 0) ^ 1;
    const forged = await putInto(copyStick(made), { 'stickwright/checksums.sha256': record });
    expect(await again(forged)).toMatchObject({ state: 'written', written: [] });
    const gone = await change(copyStick(made), (volume) => volume.removeFile('stickwright/what-is-this-stick.txt'));
    expect(await again(gone)).toMatchObject({ state: 'written', written: [] });
    const foreign = newDeskKey(keyFiles({ STICKWRIGHT_SEAL_KEY: join(mkdtempSync(join(folder, 'key-')), 'b.key') }));
    expect(await again(made, {}, { ...memoryPorts, deskKey: desk })).toMatchObject({ state: 'written', written: [] });
    expect(await again(sealed, {}, { ...memoryPorts, deskKey: foreign })).toMatchObject({ state: 'written' });
    const seal = await readStick(sealed, sealPath);
    const broken = await putInto(copyStick(sealed), { [sealPath]: seal.subarray(1) });
    expect(await again(broken)).toMatchObject({ state: 'written', written: [] });
    const unsealed = await change(copyStick(sealed), (volume) => volume.removeFile(sealPath));
    expect(await again(unsealed)).toMatchObject({ state: 'written', written: [] });
    const smuggled = await putInto(copyStick(made), { [sealPath]: seal });
    expect(await again(smuggled)).toMatchObject({ state: 'written', written: [] });
    // A sound seal of this desk, on a record that names another one.
    const { selfSha256, ...itself } = JSON.parse((await readStick(sealed, manifestPath)).toString());
    const named = withOwnDigest({ ...itself, sealedBy: keyName(nodeSha256(foreign.publicKey)) }, nodeSha256);
    const signed = { ...JSON.parse(seal.toString()), signature: desk.sign(sealedText(named as unknown as Manifest)) };
    const misnamed = await putInto(copyStick(sealed), {
      [manifestPath]: Buffer.from(`${JSON.stringify(named, null, 2)}\n`),
      [sealPath]: Buffer.from(`${JSON.stringify(signed, null, 2)}\n`),
    });
    expect(selfSha256).toMatch(/^[0-9a-f]{64}$/);
    expect(await again(misnamed)).toMatchObject({ state: 'written', written: [] });
    const ofOther = await newStick();
    await prepare({ archivePath, targets: [ofOther], mode: 'in-os' }, { ...memoryPorts, deskKey: desk });
    const swapped = await putInto(copyStick(sealed), { [sealPath]: await readStick(ofOther, sealPath) });
    expect(await again(swapped)).toMatchObject({ state: 'written', written: [] });
  });

  test('and of which a part of the record cannot be read gets a new one; a stick that is gone is told', async () => {
    const failing = (path: string, code: ToolError['code']): Ports => ({
      ...memoryPorts,
      openVolume: openingWith((volume) => ({
        open: async (at, how) => {
          if (at === path) throw new ToolError(code, at, 'so it is', 'Do this.');
          return volume.open(at, how);
        },
      })),
    });
    const list = 'stickwright/checksums.sha256';
    expect(await again(made, {}, failing(list, 'stick/read-failed'))).toMatchObject({ state: 'written', written: [] });
    for (const path of [list, 'images/touch.img', manifestPath])
      expect(await again(made, {}, failing(path, 'stick/gone'))).toMatchObject({
        state: 'failed',
        error: { code: 'stick/gone' },
      });
    expect(await again(made, { leftovers: 'remove' }, failing('images/touch.img', 'stick/read-failed'))).toMatchObject({
      state: 'written',
      written: ['images/touch.img'],
    });
  });

  test('and whose archive turns out to be another one is refused, and not touched', async () => {
    const claims = [{ algorithm: 'SHA-256', hex: '0'.repeat(64), from: 'the command line' }] as const;
    const stick = copyStick(made);
    deviceOf(stick).writes = 0;
    const { report } = await prepare({ archivePath, targets: [stick], claims });
    expect(report.sticks).toMatchObject([{ state: 'refused', verdict: 'not-ready', error: undefined }]);
    expect(deviceOf(stick).writes).toBe(0);
    // The same name, sizes and CRC-32s, and other bytes: only the pass can tell.
    const right = firmwareTree['images/touch.img'] ?? Buffer.alloc(0);
    const forged = Buffer.from(right);
    // CRC-32's own polynomial changes no CRC-32, wherever it is added (ISO 3309; the lowest bit of each byte first).
    for (const [at, bits] of [0x41, 0x06, 0x71, 0xdb, 0x01].entries())
      forged[100 + at] = (forged[100 + at] ?? 0) ^ bits;
    const answer = await again(made, { archivePath: await archiveWith({ 'images/touch.img': forged }) });
    expect(answer).toMatchObject({ state: 'refused', verdict: 'not-ready' });
    expect(answer.findings).toContainEqual(
      expect.objectContaining({ code: 'plan/kept-differs', facts: { paths: ['images/touch.img'] } }),
    );
  });

  test('and had a stop accepted is right for whoever accepts the same for the same reason', async () => {
    const bare = await newStick({ kind: 'fat32', clusterBytes: 512 });
    const filled = await putInto(await newStick(), { 'other_update.zip': Buffer.from('mine') });
    for (const [stick, code] of [
      [bare, 'stick/partition-table-not-taken'],
      [filled, 'stick/other-firmware'], // of what lies there, and not of the stick itself
    ] as const) {
      const accepting = (because: string) => ({ accepted: new Map([[code, because]]) });
      await prepare({ archivePath, targets: [stick], ...accepting('tried twice') });
      const [same] = (await prepare({ archivePath, targets: [stick], ...accepting('tried twice') })).report.sticks;
      expect([same?.state, same?.verdict]).toEqual(['unchanged', 'ready']);
      const [other] = (await prepare({ archivePath, targets: [stick], ...accepting('tried thrice') })).report.sticks;
      expect(other).toMatchObject({ state: 'written' });
      expect((await look(stick)).manifest?.overrides).toMatchObject([{ code, because: 'tried thrice' }]);
    }
  });

  test('and whose record is of the version before gets one of this version, and nothing else', async () => {
    const { record, sealedBy, selfSha256, ...described } = JSON.parse((await readStick(made, manifestPath)).toString());
    expect([record.length, sealedBy, selfSha256]).toEqual([2, null, expect.any(String)]);
    const before = withOwnDigest({ ...described, schema: 'stickwright/manifest/1' }, nodeSha256);
    const stick = copyStick(made);
    await putInto(stick, { [manifestPath]: Buffer.from(`${JSON.stringify(before, null, 2)}\n`) });
    expect(codesOf((await look(stick)).findings)).toContain('verify/older-manifest');
    expect(await again(stick)).toMatchObject({ state: 'written', written: [] });
  });

  test('and was unproven is written anew: it may be proven by now, and it may be doubted by now', async () => {
    const bare = await makeArchive(mkdtempSync(join(folder, 'bare-')));
    const stick = await newStick();
    await prepare({ archivePath: bare, targets: [stick] });
    expect(await again(stick, { archivePath: bare })).toMatchObject({ state: 'written', verdict: 'unproven' });
    expect(await again(stick)).toMatchObject({ state: 'written', verdict: 'ready' });
    const known = [{ code: 'build/cannot-order', subject: 'x', facts: {} }] as const;
    const doubted = await again(made, { known });
    expect(doubted).toMatchObject({ state: 'written', verdict: 'unproven' });
    expect(doubted.manifest?.unproven).toEqual([{ code: 'build/cannot-order', subject: 'x' }]);
    expect((await again(stick, { archivePath: bare })).manifest?.unproven).toMatchObject([{}]);
  });
});

describe('what is asked and planned', { tags: ['plan-before-touch'] }, () => {
  test('of a name that leads nowhere nothing is planned', async () => {
    const odd = { path: 'other_update.zip', kind: 'file', bytes: 5, odd: 'name' } as const;
    const ports: Ports = {
      ...memoryPorts,
      openVolume: openingWith((volume) => ({ entries: async () => [...(await volume.entries()), odd] })),
    };
    const { plan } = await again(made, { leftovers: 'remove', dryRun: true }, ports);
    expect(plan?.items.filter((item) => item.path === odd.path)).toEqual([]);
  });

  test('of the sectors: firmware and record, final and staged; the root is mended only where we write the tables', async () => {
    const asked: WaysAsked[] = [];
    const ports: Ports = {
      ...memoryPorts,
      auditMedium: (target, ways) => {
        if (ways !== undefined) asked.push(ways);
        return memoryPorts.auditMedium(target, ways);
      },
    };
    const plain = mkdtempSync(join(folder, 'plain-'));
    await again(made, { dryRun: true }, ports);
    await prepare({ archivePath, targets: [plain], dryRun: true }, ports);
    expect(asked.map(({ mendsRoot }) => mendsRoot)).toEqual([true, false]);
    expect(asked[0]?.firmware).toEqual(expect.arrayContaining(['images/touch.img', 'SW-PART.TMP/images/touch.img']));
    const record = [manifestPath, 'stickwright', 'SW-DONE.TMP', 'SW-PART.TMP', 'SW-PART.TMP/images'];
    expect(asked[0]?.record).toEqual(expect.arrayContaining(record));
  });
});

describe('a file with its old name and its new one', { tags: ['nobodys-files-vanish'] }, () => {
  test('is looked for by its names where nobody may read the drive, and left to the sectors where somebody may', async () => {
    const aside = 'set-aside-20261128T213737Z/images/system.img.set-aside';
    const moved = 'images/system.img';
    const stick = await putInto(copyStick(made), { [aside]: firmwareTree[moved] ?? noise(1, 1) });
    const atOnce: Ports = {
      ...memoryPorts,
      openVolume: openingWith((volume) => ({
        entries: async () => (await volume.entries()).map((entry) => ({ ...entry, stamp: 'one moment' })),
      })),
    };
    const unread: Ports = {
      ...atOnce,
      auditMedium: async (...asked) => ({ ...(await memoryPorts.auditMedium(...asked)), flaws: [], volumes: [] }),
    };
    expect((await again(stick, {}, atOnce)).codes).not.toContain('stick/two-names');
    expect((await again(stick, {}, unread)).codes).toContain('stick/two-names');
  });
});

describe('what lies on a stick already', { tags: ['ready-means-read-back'] }, () => {
  test('is read before it is kept, and told while it is read', async () => {
    const events: WorkEvent[] = [];
    const stick = copyStick(made);
    await change(stick, (volume) => volume.removeFile('images/touch.img'));
    const prepared = await prepare({ archivePath, targets: [stick] });
    events.push(...prepared.events);
    const looking = events.filter((event) => 'stage' in event && event.stage === 'looking');
    const totalBytes = Object.values(firmwareTree).reduce((sum, { length }) => sum + length, 0) - 4096;
    expect(looking[0]).toEqual({ kind: 'stage', target: stick, stage: 'looking', totalBytes });
    expect(looking.at(-1)).toEqual({
      kind: 'progress',
      target: stick,
      stage: 'looking',
      doneBytes: totalBytes,
      totalBytes,
    });
    // Read once more with what was written, each is told as what the plan says of it.
    const kept = prepared.report.sticks[0]?.plan?.items.filter(({ action }) => action === 'keep') ?? [];
    expect(kept).toHaveLength(Object.keys(firmwareTree).length - 1);
    const told = events.filter((event) => event.kind === 'item' && event.item.action === 'keep');
    expect(told).toEqual(kept.map((item) => ({ kind: 'item', target: stick, item })));
    const blank = await prepare({ archivePath, targets: [await newStick()] });
    expect(blank.events.filter((event) => 'stage' in event && event.stage === 'looking')).toEqual([]);
  });

  test('and came out of the computer’s memory, were it one file, is not proven', async () => {
    for (const path of ['sedge_boot.pkg', 'release-note.txt']) {
      const openVolume = openingWith((volume) => ({
        open: async (at, how) => {
          const reader = await volume.open(at, how);
          return at === path ? { readBack: 'cache', chunks: () => reader.chunks() } : reader;
        },
      }));
      const answer = await again(made, {}, { ...memoryPorts, openVolume });
      expect([path, answer.state, answer.verdict]).toEqual([path, 'unchanged', 'unproven']);
      expect(answer.codes).toContain('plan/read-back-from-cache');
    }
  });

  test('and was left by a run that was cut off is kept with its code, wherever its manifest lay', async () => {
    const other = { ...memoryPorts, newStickCode: () => 'LLL-LLL' };
    for (const [folderOf, name] of [
      ['stickwright', 'MANIFEST.NEW'],
      ['SW-DONE.TMP', 'MANIFEST.NEW'],
      ['SW-DONE.TMP', 'MANIFEST.OLD'],
      ['stickwright', 'MANIFEST.OLD'],
    ] as const) {
      const stick = await change(copyStick(made), async (volume) => {
        await volume.rename(manifestPath, `stickwright/${name}`);
        if (folderOf !== 'stickwright') await volume.rename('stickwright', folderOf);
      });
      expect(await again(stick, {}, other)).toMatchObject({
        state: 'written',
        verdict: 'ready',
        written: [],
        manifest: { stick: 'ACD-479' },
      });
      // Its tag may hang on the stick.
      const { codes } = await again(stick, { label: 'K2-second 86/5B', dryRun: true }, other);
      expect(codes).toContain('stick/other-label-before');
    }
    // One that is half written is none; the one before it is asked.
    const half = await change(copyStick(made), (volume) => volume.rename(manifestPath, 'stickwright/MANIFEST.OLD'));
    await putInto(half, { 'stickwright/MANIFEST.NEW': Buffer.from('{') });
    expect(await again(half, {}, other)).toMatchObject({ state: 'written', manifest: { stick: 'ACD-479' } });
    const none = await change(copyStick(made), (volume) => volume.removeFile(manifestPath));
    expect(await again(none, {}, other)).toMatchObject({ state: 'written', manifest: { stick: 'LLL-LLL' } });
  });

  test('and the sectors make doubtful is made anew: what an unfinished run staged, and what has its place', async () => {
    const doubting = (...paths: readonly string[]): Ports => ({
      ...memoryPorts,
      auditMedium: async (...asked) => {
        const facts = await memoryPorts.auditMedium(...asked);
        const volumes = facts.volumes.map((volume) => ({ ...volume, doubtful: paths }));
        return { ...facts, volumes };
      },
    });
    const wish = { leftovers: 'remove', dryRun: true } as const;
    const staged = await change(copyStick(made), async (volume) => {
      await volume.makeFolder('SW-PART.TMP');
      await volume.rename('images', 'SW-PART.TMP/images');
    });
    const all = Object.keys(firmwareTree);
    const inImages = all.filter((path) => path.startsWith('images/'));
    expect((await again(staged, wish)).written).toEqual([]);
    expect((await again(staged, wish, doubting('SW-PART.TMP'))).written).toEqual(inImages);
    expect((await again(staged, wish, doubting('SW-PART.TMP/images'))).written).toEqual(inImages);
    expect((await again(staged, wish, doubting('SW-PART.TMP/images/touch.img'))).written).toEqual(['images/touch.img']);
    expect((await again(made, wish, doubting('sedge_boot.pkg'))).written).toEqual(['sedge_boot.pkg']);
    expect((await again(made, wish, doubting('stickwright/manifest.json'))).plan?.nothingToDo).toBe(false);
    expect((await again(made, wish, doubting())).plan?.nothingToDo).toBe(true);
  });

  test('and is nothing but what is wanted is not looked into; what is unknown is, but for the tool’s own', async () => {
    const stick = await putInto(copyStick(made), {
      'holiday.jpg': Buffer.from('mine'),
      'images/more.txt': Buffer.from('mine'),
      'SW-PART.TMP/half.img': Buffer.from('half'),
    });
    const asked: string[][] = [];
    const lookInto: Ports['lookInto'] = (volume, files, signal) => {
      asked.push(files.map(({ path }) => path));
      return memoryPorts.lookInto(volume, files, signal);
    };
    await again(stick, { dryRun: true }, { ...memoryPorts, lookInto });
    expect(asked.map((paths) => paths.toSorted())).toEqual([['holiday.jpg', 'images/more.txt']]);
  });
});

describe('a stick that was looked at before', { tags: ['only-the-stick'] }, () => {
  const opened: string[] = [];
  const counting: OpenVolume = (target, access, options) =>
    openingWith((volume) => ({
      close: async () => {
        opened.splice(opened.indexOf(target), 1);
        await volume.close();
      },
    }))(target, access, options).then((volume) => {
      opened.push(target);
      return volume;
    });
  const seen = async (stick: string) => {
    const volume = await openStick(stick, 'read');
    const entries = await volume.entries();
    await volume.close();
    return { facts: volume.facts, entries };
  };

  test('is the same one, or it is said what is another, and it is let go either way', async () => {
    const planned = await seen(made);
    await checkSameStick(made, planned, counting);
    await expect(checkSameStick(sealed, planned, counting)).rejects.toMatchObject({ code: 'stick/swapped' });
    const other = await newStick({ kind: 'fat32', clusterBytes: 1024, partitioned: true }, 72 * 2 ** 20);
    await expect(checkSameStick(other, planned, counting)).rejects.toMatchObject({ code: 'stick/swapped' });
    expect(opened).toEqual([]);
  });

  test('is gone where nothing is there any more, or where its mount is', async () => {
    const planned = await seen(made);
    const failing =
      (code: ToolError['code']): OpenVolume =>
      async (target) => {
        throw new ToolError(code, target, 'so it is', 'Do this.');
      };
    await expect(checkSameStick(made, planned, failing('stick/not-found'))).rejects.toMatchObject({
      code: 'stick/gone',
      subject: made,
    });
    await expect(checkSameStick(made, planned, failing('stick/in-use'))).rejects.toMatchObject({
      code: 'stick/in-use',
    });
    const mounted = { ...planned.facts, mountPoint: '/media/desk/STICK' };
    const below: OpenVolume = async (...wish) => {
      const volume = await counting(...wish);
      return new Proxy(volume, {
        get: (_, name) =>
          name === 'facts' ? { ...planned.facts, mountPoint: '/' } : Reflect.get(volume, name, volume),
      });
    };
    await expect(openAgain(below, mounted)(made, 'read')).rejects.toMatchObject({ code: 'stick/gone', subject: made });
    expect(opened).toEqual([]);
    await (await openAgain(below, planned.facts)(made, 'read')).close();
  });
});
