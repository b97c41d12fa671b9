// Makes the packages of the invented Quillhaven Schools Authority's sample round: small, of the shapes that the three
// families take in either mode, the same bytes every time, nothing of a real firmware in them. `node
// samples/make-sample-shelf.mjs FOLDER`.
import { createHash } from 'node:crypto';
import { createWriteStream, mkdirSync, readFileSync, realpathSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';
import { ZipFile } from 'yazl';

const mtime = new Date('2026-09-14T06:00:00Z');

/** Bytes that do not compress, the same for the same name. */
function noise(name, bytes) {
  const blocks = Array.from({ length: Math.ceil(bytes / 32) }, (_, at) =>
    createHash('sha256').update(`${name}/${at}`).digest(),
  );
  return Buffer.concat(blocks).subarray(0, bytes);
}

const sedge = ['sedge_boot.pkg', 'images/system.img', 'images/touch.img'];
const lantern = ['lantern/update.lst', 'lantern/main.bin', 'lantern/touch.bin'];
const basalt = ['BASALT.IMG'];

/**
 * What the desk has for the sample list: the newest package of each variant, older ones, and the bridges between. Two
 * things are left out, as on many a shelf: the bridge reed.608_8S_third_home, and anything for the main factory of the
 * 86-inch workshop panel.
 */
export const samplePackages = [
  ['reed.608_5B_second_K2.zip', sedge],
  ['reed.746_5B_second_K2.zip', sedge],
  ['reed.1717_5B_second_K2.zip', sedge],
  ['reed.608_5B_second_home.zip', sedge],
  ['reed.1717_5B_second_home.zip', sedge],
  ['reed.1717_5B_first_home.zip', sedge],
  ['reed.702_8S_third_home.zip', sedge],
  ['reed.1717_8S_third_home.zip', sedge],
  ['lantern-vx-eu-revc-v3.0.0_20230110.zip', lantern],
  ['lantern-vx-eu-revc-v3.6.0_20230822.zip', lantern],
  ['lantern-vx-eu-revc-v3.9.0_20231120.zip', lantern],
  ['lantern-vx-eu-revc-v3.12.0_20260820.zip', lantern],
  ['lantern-vx-eu-v3.12.0_20260820.zip', lantern],
  ['lantern-qd-uk-revaa-v3.12.0_20260820.zip', lantern],
  ['basalt_86_24p_m3_r1047.zip', basalt],
  ['basalt_86_24p_m3_r1190.zip', basalt],
  ['basalt_105_23x_r1190.zip', basalt],
  ['basalt_all_22e_n12_r1190.zip', basalt],
];

/** This maker publishes checksums; the one of the basalt panels does not. */
const publishes = (name) => !name.startsWith('basalt');

/**
 * Writes the packages and, where their invented maker publishes one, a checksum list beside each. Returns their paths.
 */
export async function makeSamplePackages(folder, { bytes = 40_000 } = {}) {
  mkdirSync(folder, { recursive: true });
  const paths = [];
  for (const [name, entries] of samplePackages) {
    const path = join(folder, name);
    const zip = new ZipFile();
    for (const entry of entries) zip.addBuffer(noise(`${name}/${entry}`, bytes), entry, { mtime, mode: 0o100644 });
    zip.end();
    await pipeline(zip.outputStream, createWriteStream(path));
    if (publishes(name)) {
      const sha256 = createHash('sha256').update(readFileSync(path)).digest('hex');
      writeFileSync(`${path}.sha256`, `${sha256}  ${basename(path)}\n`);
    }
    paths.push(path);
  }
  return paths;
}

if (process.argv[1] !== undefined && realpathSync(process.argv[1]) === fileURLToPath(import.meta.url)) {
  const [folder] = process.argv.slice(2);
  if (folder === undefined) {
    process.stderr.write('Name a folder for the packages: node samples/make-sample-shelf.mjs FOLDER\n');
    process.exit(2);
  }
  const paths = await makeSamplePackages(folder);
  process.stdout.write(`${paths.length} packages in ${folder}. Now: stickwright shelf add ${join(folder, '*.zip')}\n`);
}
