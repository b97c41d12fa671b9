// `npm run round`: a whole round on the sample: list, plan, four sticks, cards, records, status, a stick that came
// back, export.
import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { root, setUp } from '../bin/set-up.mjs';
import { makeShow, title } from './demonstrate.mjs';
import { makeSamplePackages } from './make-sample-shelf.mjs';

setUp();
process.chdir(root);
const { createStickImage } = await import('../dist/io/format/image-files.js');

const folder = 'out/round';
rmSync(folder, { recursive: true, force: true });
mkdirSync(`${folder}/packages`, { recursive: true });
const list = `${folder}/quillhaven.csv`;
copyFileSync('samples/rooms/quillhaven.csv', list);
const round = ['--round', `${folder}/quillhaven.round`];
const environment = { STICKWRIGHT_SHELF: `${folder}/shelf`, STICKWRIGHT_COLUMNS: `${folder}/columns.json` };
const show = makeShow(environment);

title("The desk's shelf: packages of three invented families");
await makeSamplePackages(`${folder}/packages`);
const packages = readdirSync(`${folder}/packages`).filter((name) => name.endsWith('.zip'));
// The report on each of them is long; unproven is what packages without a published hash are.
const words = ['shelf', 'add', ...packages.map((name) => `${folder}/packages/${name}`), '--json'];
const env = { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families', ...environment };
const added = spawnSync(process.execPath, ['bin/stickwright.js', ...words], {
  env,
  stdio: ['ignore', 'ignore', 'inherit'],
});
if (added.status !== 0 && added.status !== 4) process.exit(1);
show(0, 'shelf', 'list');

title('The plan: which rooms need what, and which sticks');
show(1, 'round', 'plan', list, '--sticks', '4', ...round);

title('Four sticks, one after the other');
const sticks = ['1', '2', '3', '4'].map((number) => `${folder}/stick-${number}.img`);
for (const stick of sticks)
  await createStickImage(stick, { bytes: 64 * 2 ** 20, fileSystem: 'fat32', partitioned: true });
show([0, 4], 'round', 'prepare', ...sticks.flatMap((stick) => ['--stick', stick]), '--yes', ...round);

title('Cards for the rooms, tags for the sticks, a cover');
show(0, 'round', 'cards', ...round);

title('What was done');
const code = JSON.parse(
  spawnSync(process.execPath, ['bin/stickwright.js', 'verify', sticks[0], '--json'], { env, encoding: 'utf8' }).stdout,
).manifest.stick;
const by = ['--stick', code, '--who', 'I. Marlow', ...round];
show(0, 'round', 'record', 'Tallow House 1', '--build', '1190', ...by);
show(0, 'round', 'record', 'Tallow House 2', '--failed', 'Package not for this device', ...by);
show(0, 'round', 'record', 'Quill Lane 14', '--approved-by', 'M. Aldane', '--who', 'T. Ashby', ...round);
show(1, 'round', 'status', ...round);

title('A stick that came back');
show([0, 4], 'verify', sticks[0], '--returned', ...round);

title("The list again, with what was done, in the owner's own columns");
show(0, 'round', 'export', '--csv', `${folder}/quillhaven-done.csv`, '--report', `${folder}/report.html`, ...round);
process.stdout.write(
  `\n${readFileSync(`${folder}/quillhaven-done.csv`, 'utf8').split('\n').slice(0, 6).join('\n')}\n…\n`,
);
process.stdout.write(`\nThe round lies in ${folder}; its cards: ${folder}/quillhaven.round/print/cards.html\n`);
