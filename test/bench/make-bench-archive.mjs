// A large archive of firmware-like content: one big compressible image, one that does not compress, and many small
// files.
import { randomFillSync } from 'node:crypto';
import { createWriteStream, existsSync, renameSync } from 'node:fs';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { ZipFile } from 'yazl';

const chunkBytes = 1_000_000;

/** Pieces of text-like and of random bytes; `noise` is the share that does not compress. */
function* content(bytes, noise) {
  const random = randomFillSync(Buffer.alloc(chunkBytes));
  const text = Buffer.alloc(chunkBytes, 'firmware table entry 0123456789abcdef; ');
  for (let done = 0; done < bytes; done += chunkBytes) {
    const size = Math.min(chunkBytes, bytes - done);
    const piece = Buffer.from(((done / chunkBytes) % 10) / 10 < noise ? random : text).subarray(0, size);
    piece.writeUInt32LE(done % 2 ** 32, 0);
    yield piece;
  }
}

export async function makeBenchArchive(path, totalBytes) {
  if (existsSync(path)) return;
  const zip = new ZipFile();
  const mtime = new Date('2026-09-14T06:00:00Z');
  const add = (name, bytes, noise, compress) =>
    zip.addReadStream(Readable.from(content(bytes, noise)), name, { mtime, compress, size: bytes });
  const small = 2000;
  const smallBytes = 20_000;
  const rest = totalBytes - small * smallBytes;
  add('sedge_boot.pkg', 1_000_000, 1, true);
  add('images/system.img', Math.floor(rest * 0.6), 0.5, true);
  add('images/vendor.img', Math.floor(rest * 0.4) - 1_000_000, 1, false);
  for (let index = 0; index < small; index++) {
    zip.addBuffer(Buffer.concat([...content(smallBytes, index % 2)]), `images/parts/part-${index}.bin`, { mtime });
  }
  await finish(zip, path);
}

/** Many entries of a few bytes, in folders of a hundred. Stored: yazl would start to deflate all of them at once. */
export async function makeManyEntries(path, count) {
  if (existsSync(path)) return;
  const zip = new ZipFile();
  const how = { mtime: new Date('2026-09-14T06:00:00Z'), compress: false };
  for (const name of ['sedge_boot.pkg', 'images/system.img']) zip.addBuffer(Buffer.from(name), name, how);
  for (let index = 2; index < count; index++) {
    zip.addBuffer(Buffer.from(`part ${index}`), `images/${Math.floor(index / 100)}/part-${index}.bin`, how);
  }
  await finish(zip, path);
}

async function finish(zip, path) {
  zip.end();
  await pipeline(zip.outputStream, createWriteStream(`${path}.part`));
  renameSync(`${path}.part`, path);
}
