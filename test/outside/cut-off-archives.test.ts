import { execFileSync } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { buffer } from 'node:stream/consumers';
import { describe, expect, it } from 'vitest';
import yazl from 'yazl';
import type { ArchiveReach } from '../../src/core/archive-format/archive-reach.ts';
import { checkDirectoryFacts } from '../../src/core/checks/archive/check-archive-facts.ts';
import { textsOf } from '../../src/core/findings/finding.ts';
import { openArchive } from '../../src/io/archive/open-archive.ts';
import { withFolder } from '../fixtures/archives/read-bytes.ts';
import { needs } from './needs.ts';

// Archives by programs that nobody here wrote, cut where a download may stop: what is said must hold for the whole
// file.

const text = Buffer.alloc(4000, 'a line of firmware that compresses well\n');
const files = [
  ['images/system.img', Buffer.concat([text, randomBytes(3000)])],
  ['images/größe.txt', text],
  ['images/empty.img', Buffer.alloc(0)],
  ['boot.pkg', randomBytes(2000)],
] as const;

type Add = (zip: yazl.ZipFile, name: string, bytes: Buffer) => void;

async function withYazl(add: Add, options?: yazl.EndOptions): Promise<Buffer> {
  const zip = new yazl.ZipFile();
  for (const [name, bytes] of files) add(zip, name, bytes);
  zip.end(options);
  return await buffer(zip.outputStream);
}

/** `command` leaves the archive in out.zip. */
const withZip = (command: (names: string) => string): Promise<Buffer> =>
  withFolder(async (folder) => {
    await mkdir(join(folder, 'images'));
    for (const [name, bytes] of files) await writeFile(join(folder, name), bytes);
    const names = files.map(([name]) => name).join(' ');
    execFileSync('sh', ['-c', command(names)], { cwd: folder });
    return await readFile(join(folder, 'out.zip'));
  });

/** Every length near a record's boundary and, in between, every 61st. */
function* lengthsOf(whole: Buffer): Generator<number> {
  const marks = [0, whole.length];
  for (let at = whole.indexOf('PK'); at !== -1; at = whole.indexOf('PK', at + 1)) marks.push(at);
  for (let length = 0; length < whole.length; length += 1) {
    if (length % 61 === 0 || marks.some((mark) => Math.abs(mark - length) <= 32)) yield length;
  }
}

interface Answer {
  readonly length: number;
  readonly codes: readonly string[];
  readonly reach: ArchiveReach | undefined;
  readonly seen: string;
}

const cutEverywhere = (whole: Buffer): Promise<readonly Answer[]> => cutAt(whole, lengthsOf(whole));

const cutAt = (whole: Buffer, lengths: Iterable<number>): Promise<readonly Answer[]> =>
  withFolder(async (folder) => {
    const answers: Answer[] = [];
    for (const length of lengths) {
      const path = join(folder, `${length}.zip`);
      await writeFile(path, whole.subarray(0, length));
      const archive = await openArchive(path);
      await archive.close();
      const findings = checkDirectoryFacts(archive.directory);
      const cut = findings.find(({ code }) => code === 'archive/cut-off');
      const reach = (cut?.facts as { reach?: ArchiveReach } | undefined)?.reach;
      const codes = findings.map(({ code }) => code);
      answers.push({ length, codes, reach, seen: cut === undefined ? '' : textsOf(cut).seen });
    }
    return answers;
  });

/** What must hold at every length. */
function expectTruth(whole: Buffer, answers: readonly Answer[]): void {
  expect(answers.length).toBeGreaterThan(150);
  for (const { length, codes, reach, seen } of answers) {
    const said = `${length} of ${whole.length}: ${codes.join(', ')}`;
    if (length === 0) expect(codes, said).toEqual(['archive/empty-file']);
    else if (length === 1) expect(codes, said).toEqual(['archive/not-a-zip']);
    else expect(codes, said).toContain('archive/cut-off');
    if (length < 4) continue;
    expect(reach, said).toBeDefined();
    expect(reach?.leastBytes, said).toBeGreaterThan(length);
    expect(reach?.leastBytes, said).toBeLessThanOrEqual(whole.length);
    expect(seen).toContain(`there are ${length.toLocaleString('en-US')} byte`);
    expect(seen).toContain(`${((reach?.leastBytes ?? 0) - length).toLocaleString('en-US')} byte`);
  }
}

const sizesKnown: Add = (zip, name, bytes) => zip.addBuffer(bytes, name);
const sizesAfter: Add = (zip, name, bytes) => zip.addReadStream(Readable.from([bytes]), name);

describe('an archive that is cut off says how much is missing at least', () => {
  it('made by yazl, sizes in the headers', async () => {
    const whole = await withYazl(sizesKnown);
    expectTruth(whole, await cutEverywhere(whole));
  });
  it('made by yazl, sizes after the data', async () => {
    const whole = await withYazl(sizesAfter);
    expectTruth(whole, await cutEverywhere(whole));
  });
  it('made by yazl, Zip64', async () => {
    const whole = await withYazl((zip, name, bytes) => zip.addBuffer(bytes, name, { forceZip64Format: true }), {
      forceZip64Format: true,
      comment: '',
    });
    expectTruth(whole, await cutEverywhere(whole));
  });
  needs({ zip: 'zip' })('made by Info-ZIP zip', async () => {
    const whole = await withZip((names) => `zip -q0 out.zip ${names}`);
    expectTruth(whole, await cutEverywhere(whole));
  });
  needs({ zip: 'zip' })('made by Info-ZIP zip, Zip64 forced', async () => {
    const whole = await withZip((names) => `zip -q -fz out.zip ${names}`);
    expectTruth(whole, await cutEverywhere(whole));
  });
  needs({ zip: 'zip' })('made by Info-ZIP zip into a pipe', async () => {
    const whole = await withZip((names) => `zip -q - ${names} | cat >out.zip`);
    expectTruth(whole, await cutEverywhere(whole));
  });
  it('names entry, offset and byte', async () => {
    const whole = await withYazl(sizesKnown);
    const at = whole.indexOf('PK\x03\x04', 4);
    const end = whole.indexOf('PK\x03\x04', at + 4);
    const answer = (await cutEverywhere(whole.subarray(0, end - 1))).at(-1);
    expect(answer?.reach).toMatchObject({ cut: 'entry', entry: 'images/größe.txt', offset: at, reachesTo: end });
    expect(answer?.seen).toContain(`Entry "images/größe.txt", which starts at byte ${at}, reaches to byte ${end}`);
  });
  it('sees that the end record of an archive stored inside is not the file’s own', async () => {
    const inner = await withYazl(sizesKnown);
    const zip = new yazl.ZipFile();
    zip.addBuffer(Buffer.concat([inner, randomBytes(500)]), 'inner.bin', { compress: false });
    zip.end();
    const whole = await buffer(zip.outputStream);
    for (const length of [30 + 'inner.bin'.length + inner.length, whole.length - 200]) {
      const { codes, reach } = (await cutAt(whole, [length]))[0] ?? {};
      expect(codes).toContain('archive/cut-off');
      expect(reach).toMatchObject({ cut: 'entry', entry: 'inner.bin', offset: 0 });
    }
  });
  it('says by the end record how much is missing from the middle', async () => {
    const whole = await withYazl(sizesKnown);
    const lost = Buffer.concat([whole.subarray(0, 300), whole.subarray(300 + 1234)]);
    await withFolder(async (folder) => {
      const path = join(folder, 'lost.zip');
      await writeFile(path, lost);
      const archive = await openArchive(path);
      await archive.close();
      const found = checkDirectoryFacts(archive.directory).find(({ code }) => code === 'archive/directory-misplaced');
      expect(found && textsOf(found).seen).toContain('1,234 bytes before it are missing');
    });
  });
});
