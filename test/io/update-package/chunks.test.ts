import { createHash } from 'node:crypto';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { openArchive } from '../../../src/io/archive/open-archive.ts';
import { watchPayload } from '../../../src/io/update-package/watch-payload.ts';
import { watchDataOffsets } from '../../../src/io/update-package/watch-small-entry.ts';
import { makeZip } from '../../fixtures/update-packages/make-package.ts';
import { makePayload } from '../../fixtures/update-packages/make-payload.ts';

function* pieces(bytes: Uint8Array, size: number): Generator<Uint8Array> {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

it.each([1, 2, 7, 23, 24, 25, 1000])('a payload is the same in chunks of %i bytes', (size) => {
  const payload = makePayload({ partitions: [{ name: 'system', bytes: 4096 }] });
  const sha256 = createHash('sha256').update(payload).digest('hex');
  const reading = { name: 'payload.bin', bytes: payload.length, crc32: 0, sha256 };
  const whole = watchPayload(0, payload.length);
  whole.data(payload);
  const expected = whole.end(reading);
  expect(expected.header).toMatchObject({ state: 'read', manifest: { state: 'read' } });
  const watch = watchPayload(0, payload.length);
  for (const piece of pieces(payload, size)) watch.data(piece);
  expect(watch.end(reading)).toEqual(expected);
});

it('the manifest of an incremental giant is hashed and not kept', () => {
  const head = Buffer.alloc(24);
  head.write('CrAU', 'latin1');
  head.writeBigUInt64BE(2n, 4);
  const manifestBytes = 40 * 1024 * 1024;
  head.writeBigUInt64BE(BigInt(manifestBytes), 12);
  const watch = watchPayload(0, 24 + manifestBytes);
  const hash = createHash('sha256').update(head);
  watch.data(head);
  const piece = Buffer.alloc(1024 * 1024, 1);
  for (let index = 0; index < 40; index += 1) {
    watch.data(piece);
    hash.update(piece);
  }
  const { header } = watch.end({ name: 'payload.bin', bytes: 24 + manifestBytes, crc32: 0, sha256: '' });
  expect(header).toMatchObject({ manifest: { state: 'too-large' }, metadataHash: hash.digest('base64') });
});

it('a payload that ends before its directory said it would is cut off', () => {
  const payload = makePayload({ partitions: [{ name: 'system', bytes: 4096 }] });
  const watch = watchPayload(0, payload.length);
  watch.data(payload.subarray(0, 30));
  const { header } = watch.end({ name: 'payload.bin', bytes: 30, crc32: 0, sha256: '' });
  expect(header.state).toBe('cut-off');
});

it.each([1, 3, 31, 64, 100_000])('offsets of data are the same in chunks of %i bytes', async (size) => {
  const folder = await mkdtemp(join(tmpdir(), 'stickwright-offsets-'));
  const names = ['a', 'folder/b', 'c'.repeat(200)];
  const zip = await makeZip(names.map((name, index) => ({ name, content: Buffer.alloc(index * 40, index) })));
  const path = join(folder, 'archive.zip');
  await writeFile(path, zip);
  const archive = await openArchive(path);
  const watch = watchDataOffsets(archive.facts.entries);
  for (const piece of pieces(zip, size)) watch.raw(piece);
  await archive.close();
  await rm(folder, { recursive: true });
  const expected = names.map((name) => [name, zip.indexOf(name) + name.length]);
  expect(watch.found().map(({ entry, offset }) => [entry.name, offset])).toEqual(expected);
});
