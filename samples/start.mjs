// `npm start`: sets up, makes a sample and shows the main job on it. `npm start -- WORDS` passes the words to the
// command.
import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { root, setUp } from '../bin/set-up.mjs';

setUp();
const words = process.argv.slice(2);
if (words.length > 0) {
  const done = spawnSync(process.execPath, [`${root}bin/stickwright.js`, ...words], { stdio: 'inherit' });
  process.exit(done.status ?? 70);
}

const { makeShow, title } = await import('./demonstrate.mjs');
const { makeSampleArchive } = await import('./make-sample-archive.mjs');
const { makeSamplePackages } = await import('./make-sample-shelf.mjs');
const { createStickImage } = await import('../dist/io/format/image-files.js');

const folder = 'out/sample';
const archive = `${folder}/reed.1717_5B_second_K2.zip`;
const label = 'K2-second 75/5B';
// What the panel's About page shows: without it nobody can tell whether the package is newer, and nothing ends ready.
const running = ['--running', 'reed.746'];
process.chdir(root);
rmSync(folder, { recursive: true, force: true });
mkdirSync(folder, { recursive: true });

const mebibyte = 2 ** 20;
const stick = async (name) => {
  const path = `${folder}/${name}.img`;
  await createStickImage(path, {
    bytes: 64 * mebibyte,
    fileSystem: 'fat32',
    partitioned: true,
    volumeLabel: name.toUpperCase(),
  });
  return path;
};

const show = makeShow({});

title('An invented firmware archive, and two FAT32 stick images of 64 MB');
await makeSampleArchive(archive);
const [first, second] = [await stick('stick-1'), await stick('stick-2')];
show(0, 'inspect', archive, '--label', label);

title('Recovery mode: the archive extracted at the root; the update wipes the panel');
const recovery = ['prepare', archive, '--mode', 'recovery', '--label', label, ...running, '--stick', first];
show(0, ...recovery, '--dry-run');
show(0, ...recovery, '--yes');
show(0, 'verify', first, '--label', label);

title("In-OS mode: the archive stays whole at the root; the panel's data is kept");
const inOs = ['prepare', archive, '--mode', 'in-os', '--label', label, ...running, '--stick', second];
show(0, ...inOs, '--dry-run');
show(0, ...inOs, '--yes');
show(0, 'verify', second, '--label', label);

title('The wrong variant: the same panel from another factory');
show(1, 'prepare', archive, '--mode', 'recovery', '--label', 'K3-second 75/5B', '--stick', second, '--yes');
show(1, 'verify', first, '--label', 'K3-second 75/5B');

title('A plate without a factory code: in this family the main factory, and a package with a code is for another');
await makeSamplePackages(`${folder}/packages`);
const [coded, plain] = ['86_24p_m3_r1190', '105_23x_r1190'].map((name) => `${folder}/packages/basalt_${name}.zip`);
show(1, 'inspect', coded, '--label', '86 in 24P');
show(0, 'inspect', plain, '--label', '105 in 23X');
process.stdout.write(
  `\nThe sample lies in ${folder}. Your own words: npm start -- inspect ${archive}\nA round through sixty rooms: npm run round\n`,
);
