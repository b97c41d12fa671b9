import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openArchive } from '../../../../src/io/archive/open-archive.ts';
import { loadFamilies } from '../../../../src/io/families/load-families.ts';
import { discardImage, finishImage, startImage } from '../../../../src/io/format/image-files.ts';
import { prepareImage } from '../../../../src/workflows/prepare-image.ts';
import { crc32Of } from '../../../fixtures/archives/build-archive.ts';
import { firmwareTree, makeArchive, noise, panelLabel, requestFor, sha256, testPorts } from '../../../fixtures/desk.ts';
import { about, answerTo, makeStick, planOf, putFile } from '../../../fixtures/planned.ts';
import { makeScratch, type Scratch } from '../../../fixtures/volumes/scratch.ts';

let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

let count = 0;
const stickOf = (): Promise<string> => makeStick(join(scratch.path, `stick ${++count}.img`));

describe('what lies there already', { tags: ['ready-means-read-back'] }, () => {
  const claimed = (archivePath: string) =>
    [{ algorithm: 'SHA-256', hex: sha256(readFileSync(archivePath)), from: 'the command line' }] as const;
  const right = firmwareTree['images/touch.img'] ?? Buffer.alloc(0);
  const forged = Buffer.from(right);
  // CRC-32's own polynomial changes no CRC-32, wherever it is added (ISO 3309; the lowest bit of each byte first).
  for (const [at, bits] of [0x41, 0x06, 0x71, 0xdb, 0x01].entries()) forged[100 + at] = (forged[100 + at] ?? 0) ^ bits;

  async function directoryOf(archivePath: string): Promise<string> {
    const archive = await openArchive(archivePath);
    await archive.close();
    return archive.facts.directorySha256;
  }

  it('is all that was wanted: nothing is done, and that is said', async () => {
    const [archivePath, target] = [await makeArchive(scratch.path), await stickOf()];
    const job = { archivePath, targets: [target], claims: claimed(archivePath) };
    const first = await answerTo(job);
    expect([about(first, 'plan/nothing-to-do').length, first.state]).toEqual([0, 'written']);
    const again = await answerTo(job);
    expect([about(again, 'plan/nothing-to-do').length, again.state]).toEqual([1, 'unchanged']);
  });

  it('is an image that is about to be copied: of no stick was anything read back', async () => {
    const archivePath = await makeArchive(scratch.path);
    const { targets: _, ...job } = await requestFor({ archivePath, targets: [], claims: claimed(archivePath) });
    const ports = { ...testPorts, startImage, finishImage, discardImage };
    const { signal } = new AbortController();
    const running = { tell: () => {}, signal, propose: async () => {}, agree: async () => true };
    const imagePath = join(scratch.path, 'to copy.img');
    const { report } = await prepareImage({ ...job, imagePath, imageBytes: undefined }, ports, running);
    const codes = report.sticks.flatMap(({ findings }) => findings.map(({ code }) => code));
    expect(codes).toContain('plan/image-to-copy');
    expect(codes).not.toContain('plan/read-back-from-cache');
  });

  it('was made from another archive of the same name and length: that is no damage, and nothing to put right unasked', async () => {
    const [archivePath, target] = [await makeArchive(scratch.path), await stickOf()];
    const before = readFileSync(archivePath);
    await answerTo({ archivePath, targets: [target] });
    await makeArchive(scratch.path, { ...firmwareTree, 'images/touch.img': noise(99, right.length) });
    expect(readFileSync(archivePath)).toHaveLength(before.length);
    const stick = await answerTo({ archivePath, targets: [target] });
    expect(about(stick, 'stick/name-taken')).toMatchObject([{ facts: { paths: ['images/touch.img'] } }]);
    expect(about(stick, 'stick/damaged-since')).toEqual([]);
    expect(stick.state).toBe('refused');
  });

  it('was prepared for another label that gets the same files: that is said, and nothing is in the way', async () => {
    const [archivePath, target] = [await makeArchive(scratch.path), await stickOf()];
    const job = { archivePath, targets: [target], claims: claimed(archivePath) };
    await answerTo(job);
    const stick = await answerTo({ ...job, label: 'K2-second 86/5B' });
    expect(about(stick, 'stick/other-label-before')).toMatchObject([{ facts: { label: panelLabel } }]);
    expect(stick.state).toBe('written');
  });

  it('was prepared for the same label from another archive: its tag is right, and nobody is sent to ask', async () => {
    const [archivePath, target] = [await makeArchive(scratch.path), await stickOf()];
    await answerTo({ archivePath, targets: [target] });
    await makeArchive(scratch.path, { ...firmwareTree, 'images/touch.img': noise(99, right.length) });
    const again = await answerTo({ archivePath, targets: [target], label: panelLabel.toLowerCase() });
    expect(about(again, 'stick/other-label-before')).toEqual([]);
    const other = await answerTo({ archivePath, targets: [target], label: 'K2-second 86/5B' });
    expect(about(other, 'stick/other-label-before')).toMatchObject([{ facts: { label: panelLabel } }]);
  });

  it('is a broken record, or what panels and systems left: each is told, and stops nothing but a panel with a root to itself', async () => {
    const [archivePath, target] = [await makeArchive(scratch.path), await stickOf()];
    await putFile(target, 'stickwright/manifest.json', Buffer.from('{"schema": "stickwright/manifest/2"'));
    for (const left of ['LOST.DIR/x.txt', 'System Volume Information/x.txt'])
      await putFile(target, left, Buffer.from('x'));
    const stick = await planOf(archivePath, target);
    expect(about(stick, 'stick/manifest-broken')).toHaveLength(1);
    expect(about(stick, 'stick/has-been-in-a-panel')).toMatchObject([{ facts: { paths: ['LOST.DIR'] } }]);
    expect(about(stick, 'stick/system-junk')).toMatchObject([{ facts: { paths: ['System Volume Information'] } }]);
    expect(stick.verdict).not.toBe('not-ready');
    const families = await loadFamilies(['samples/families/basalt.yaml']);
    const basalt = await makeArchive(scratch.path, { 'BASALT.IMG': Buffer.from('x') }, 'basalt_86_24p_m3_r1047.zip');
    const strict = await planOf(basalt, target, { families, label: '86 in 24P.M3' });
    expect(about(strict, 'stick/root-not-empty')).toMatchObject([
      { facts: { paths: ['LOST.DIR', 'System Volume Information'] } },
    ]);
    expect(strict.state).toBe('refused');
  });

  it('has the size and the CRC-32 of the firmware, and other bytes: it is read, and is not ready', async () => {
    expect([crc32Of(forged), forged.equals(right)]).toEqual([crc32Of(right), false]);
    const [archivePath, target] = [await makeArchive(scratch.path), await stickOf()];
    await putFile(target, 'images/touch.img', forged);
    const stick = await answerTo({ archivePath, targets: [target] });
    expect(about(stick, 'plan/read-back-differs')).toMatchObject([
      { subject: 'images/touch.img', facts: { expected: sha256(right), got: sha256(forged) } },
    ]);
    expect(stick.verdict).toBe('not-ready');
  });

  it('was made from another archive of the same name, sizes and CRC-32s: that nothing is to do is not believed', async () => {
    const [archivePath, target] = [await makeArchive(scratch.path), await stickOf()];
    const directory = await directoryOf(archivePath);
    await answerTo({ archivePath, targets: [target], claims: claimed(archivePath) });
    await makeArchive(scratch.path, { ...firmwareTree, 'images/touch.img': forged });
    expect(await directoryOf(archivePath)).toBe(directory);
    const stick = await answerTo({ archivePath, targets: [target], claims: claimed(archivePath) });
    expect(about(stick, 'plan/kept-differs')).toMatchObject([{ facts: { paths: ['images/touch.img'] } }]);
    expect(stick).toMatchObject({ verdict: 'not-ready', state: 'refused' });
  });
});
