// `npm run desk`: sets up, makes a sample and opens the desk in a window on it, with two image files as sticks, so that
// anybody can try it without hardware. `npm run desk -- WORDS` passes the words on: `--no-open`, `--port 8750`.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync } from 'node:fs';
import { root, setUp } from '../bin/set-up.mjs';

setUp();
process.chdir(root);
const { makeSamplePackages } = await import('./make-sample-shelf.mjs');
const { createStickImage } = await import('../dist/io/format/image-files.js');

const folder = 'out/desk';
const shelf = `${folder}/shelf`;
const sticks = ['stick-1', 'stick-2'].map((name) => `${folder}/${name}.img`);
mkdirSync(folder, { recursive: true });
const command = (...words) =>
  spawnSync(process.execPath, [`${root}bin/stickwright.js`, ...words, '--family', 'samples/families'], {
    stdio: ['inherit', 'ignore', 'inherit'],
  });
if (!existsSync(shelf))
  command(
    'shelf',
    'add',
    ...(await makeSamplePackages(`${folder}/downloads`)),
    '--from',
    'https://support.example/',
    '--shelf',
    shelf,
  );
for (const path of sticks)
  if (!existsSync(path))
    await createStickImage(path, {
      bytes: 64 * 2 ** 20,
      fileSystem: 'fat32',
      partitioned: true,
      volumeLabel: 'SAMPLE',
    });

const raised = process.getuid?.() === 0 ? ['--raised'] : [];
const words = [
  ...raised,
  '--family',
  'samples/families',
  '--shelf',
  shelf,
  ...sticks.flatMap((path) => ['--stick', path]),
];
const done = spawnSync(process.execPath, [`${root}bin/stickwright.js`, 'desk', ...words, ...process.argv.slice(2)], {
  stdio: 'inherit',
});
process.exit(done.status ?? 70);
