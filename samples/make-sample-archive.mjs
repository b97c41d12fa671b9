// Makes the firmware archive of the invented scenario: the same bytes every time, nothing of a real firmware in it.
import { createHash } from 'node:crypto';
import { createWriteStream, readFileSync, writeFileSync } from 'node:fs';
import { basename } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { ZipFile } from 'yazl';

/** Bytes that look like firmware to a compressor: noise, with runs of zeros in between. */
function invented(seed, bytes) {
  const out = Buffer.alloc(bytes);
  let state = seed >>> 0 || 1;
  for (let at = 0; at + 4 <= bytes; at += 4) {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    if ((at >> 14) % 3 !== 0) out.writeInt32LE(state, at);
  }
  return out;
}

const mtime = new Date('2026-09-14T06:00:00Z');

/** Writes the archive and, beside it, the checksum list that its invented maker publishes. */
export async function makeSampleArchive(path, { megabytes = 8 } = {}) {
  const zip = new ZipFile();
  const add = (name, seed, bytes, compress) =>
    zip.addBuffer(invented(seed, bytes), name, { mtime, mode: 0o100644, compress });
  add('sedge_boot.pkg', 11, 262_144, true);
  add('images/system.img', 12, megabytes * 1_000_000, true);
  add('images/touch.img', 13, 1_500_000, true);
  add('images/panel.img', 14, 640_000, false);
  zip.addBuffer(Buffer.from('Invented release note. Made for the sample only.\n'), 'release-note.txt', {
    mtime,
    mode: 0o100644,
  });
  zip.end();
  await pipeline(zip.outputStream, createWriteStream(path));
  const sha256 = createHash('sha256').update(readFileSync(path)).digest('hex');
  writeFileSync(`${path}.sha256`, `${sha256}  ${basename(path)}\n`);
}
