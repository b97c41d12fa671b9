// Node as somebody published it in the npm registry, held against its pinned integrity. `node bin/fetch-node.mjs 24`
// unpacks the one of that line in gate-nodes.json for this platform, and prints its path: the gate runs a part of
// itself on every line that is in use.
import { createHash } from 'node:crypto';
import { createReadStream, existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';
import { createGunzip } from 'node:zlib';
import { extract } from 'tar-stream';
import { findNpm, root, run } from './set-up.mjs';

/** A package of the registry as it was published, whatever the registry answers today: its bytes by name. */
export async function fetchPackage({ package: name, version: wanted, integrity }, paths) {
  const folder = 'out/package/nodes';
  // As npm names what it packs.
  const file = join(folder, `${name.replace('@', '').replace('/', '-')}-${wanted}.tgz`);
  mkdirSync(folder, { recursive: true });
  if (!existsSync(file)) {
    const words = ['pack', '--silent', '--pack-destination', folder, `${name}@${wanted}`];
    run(process.execPath, [findNpm(), ...words], { stdio: ['ignore', 'ignore', 'inherit'] });
  }
  const hash = createHash('sha512');
  for await (const chunk of createReadStream(file)) hash.update(chunk);
  if (`sha512-${hash.digest('base64')}` !== integrity) {
    rmSync(file);
    throw new Error(`${name}@${wanted} is not what was pinned here; it was thrown away.`);
  }
  const found = new Map();
  const tar = extract();
  tar.on('entry', (header, stream, next) => {
    const path = header.name.replace(/^package\//, '');
    const pieces = [];
    stream.on('data', (piece) => paths.includes(path) && pieces.push(piece));
    stream.on('end', () => {
      if (paths.includes(path)) found.set(path, Buffer.concat(pieces));
      next();
    });
  });
  await pipeline(createReadStream(file), createGunzip(), tar);
  for (const path of paths) if (!found.has(path)) throw new Error(`${name}@${wanted} holds no ${path}.`);
  return found;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  process.chdir(root);
  const pinned = JSON.parse(readFileSync('bin/gate-nodes.json', 'utf8'))[process.argv[2]];
  const program = join('out/package/nodes', `node-${pinned.version}`);
  if (!existsSync(program)) {
    const found = await fetchPackage(pinned, ['bin/node']);
    writeFileSync(`${program}.${process.pid}`, found.get('bin/node'), { mode: 0o755 });
    renameSync(`${program}.${process.pid}`, program);
  }
  process.stdout.write(`${program}\n`);
}
