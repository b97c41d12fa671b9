// `npm run readme`: runs the README's examples again and puts their output between its marks, shortened as the README
// says. Needs `npm start` and `npm run round` first, whose samples they use.
import { spawnSync } from 'node:child_process';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { root, setUp } from '../bin/set-up.mjs';

setUp();
process.chdir(root);
const archive = 'out/sample/reed.1717_5B_second_K2.zip';
const recovery = [
  'prepare',
  archive,
  '--mode',
  'recovery',
  '--label',
  'K2-second 75/5B',
  '--running',
  'reed.746',
  '--stick',
  'out/sample/stick-1.img',
];
const round = ['--round', 'out/round/quillhaven.round'];

const from = (start) => (text) => `…\n\n${text.slice(text.indexOf(start))}`;
const upTo = (end) => (text) => `${text.slice(0, text.indexOf(end)).trimEnd()}\n…`;
const between = (start, end, last) => (text) =>
  `…\n${text.slice(text.indexOf(start), text.indexOf(end, text.indexOf(start))).trimEnd()}\n…\n${text.slice(text.indexOf(last))}`;
const lastLines = (count) => (text) => `…\n${text.trimEnd().split('\n').slice(-count).join('\n')}`;

/** By name: words, how the output is shortened, the words as shown where they differ. */
const examples = {
  inspect: { words: ['inspect', archive, '--label', 'K2-second 75/5B'] },
  dry: { words: [...recovery, '--dry-run'], before: ['out/sample/stick-1.img'] },
  prepare: { words: [...recovery, '--yes'], shorten: from('Written, read back and recorded.') },
  verify: { words: ['verify', 'out/sample/stick-1.img', '--label', 'K2-second 75/5B'] },
  wrong: {
    words: recovery.map((word) => (word === 'K2-second 75/5B' ? 'K3-second 75/5B' : word)).concat('--yes'),
    shorten: between('  STOP  The package is for another panel', '\n\n', 'NOT READY'),
  },
  absent: {
    words: ['inspect', 'out/sample/packages/basalt_86_24p_m3_r1190.zip', '--label', '86 in 24P'],
    shorten: between('  STOP  The package is for another panel', '\n\n', 'NOT READY'),
  },
  'round-plan': {
    words: ['round', 'plan', 'out/round/quillhaven.csv', '--sticks', '4', ...round],
    shown: 'round plan quillhaven.csv --sticks 4',
    shorten: upTo('\n  C   '),
  },
  'round-failed': {
    words: ['round', 'ladder', 'Tallow House 2', ...round],
    shown: 'round ladder "Tallow House 2"',
    shorten: upTo('\n  wait  Fresh'),
  },
  'round-status': {
    words: ['round', 'status', ...round],
    shown: 'round status',
    shorten: (text) => `${upTo('\nOpen (')(text)}\n${lastLines(1)(text).slice(2)}`,
  },
};

const quoted = (word) => (/\s/.test(word) ? `"${word}"` : word);

async function outputOf({ words, before = [], shorten = (text) => text }) {
  const { createStickImage } = await import('../dist/io/format/image-files.js');
  const shape = { bytes: 64 * 2 ** 20, fileSystem: 'fat32', partitioned: true, volumeLabel: 'STICK-1' };
  for (const stick of before) {
    rmSync(stick, { force: true });
    await createStickImage(stick, shape);
  }
  const env = {
    ...process.env,
    STICKWRIGHT_FAMILIES: 'samples/families',
    STICKWRIGHT_SHELF: 'out/round/shelf',
    STICKWRIGHT_COLUMNS: 'out/round/columns.json',
    NO_COLOR: '1',
  };
  const done = spawnSync(process.execPath, ['bin/stickwright.js', ...words], { env, encoding: 'utf8' });
  if (done.stdout === '') throw new Error(`${words.join(' ')}: ${done.stderr}`);
  return shorten(done.stdout.replaceAll(root, '')).trimEnd();
}

let text = readFileSync('README.md', 'utf8');
for (const [name, example] of Object.entries(examples)) {
  const mark = `<!-- example: ${name} -->`;
  const start = text.indexOf(mark);
  if (start < 0) throw new Error(`the README has no mark for ${name}`);
  const end = text.indexOf('<!-- end -->', start);
  const words = example.shown ?? example.words.map(quoted).join(' ');
  text = `${text.slice(0, start)}${mark}\n\`\`\`text\n$ stickwright ${words}\n\n${await outputOf(example)}\n\`\`\`\n${text.slice(end)}`;
}
writeFileSync('README.md', text);
