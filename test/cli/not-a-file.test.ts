import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, expect } from 'vitest';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';
import { run } from '../fixtures/volumes/scratch.ts';
import { needs } from '../outside/needs.ts';

let folder: string;
let archive: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright kinds-'));
  archive = await makeArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Waiting for the other end of a pipe shows as no exit code: the guard ends it. */
const ask = (words: readonly string[], environment: Readonly<Record<string, string>> = {}) => {
  const settings = {
    STICKWRIGHT_COLUMNS: join(folder, 'columns.json'),
    STICKWRIGHT_SEAL_KEY: join(folder, 'none.key'),
    STICKWRIGHT_FAMILIES: 'samples/families',
    NO_COLOR: '1',
  };
  const { status, stdout, stderr } = spawnSync(process.execPath, ['bin/stickwright.js', ...words], {
    encoding: 'utf8',
    env: { ...process.env, ...settings, ...environment },
    timeout: 60_000,
    killSignal: 'SIGKILL',
    input: '',
  });
  return { status, said: `${stdout}${stderr}`.replace(/\s+/g, ' ') };
};

/** Puts something that is no file at PATH, asks, and takes it away. */
function withPipe(path: string, act: () => ReturnType<typeof ask>): ReturnType<typeof ask> {
  mkdirSync(dirname(path), { recursive: true });
  run('mkfifo', path);
  try {
    return act();
  } finally {
    rmSync(path);
  }
}

const pipe = needs({ mkfifo: 'coreutils' });
const shelf = (): string => join(folder, 'shelf');
const prepareWords = (target: string) =>
  [
    'prepare',
    archive,
    '--mode',
    'in-os',
    '--label',
    panelLabel,
    '--running',
    'reed.746',
    '--stick',
    target,
    '--dry-run',
  ] as const;

/** Each place where a file is expected, and a command that reads it. */
const places: readonly (readonly [string, () => string, (at: string) => readonly string[]])[] = [
  ['an archive', () => join(folder, 'pipe.zip'), (at) => ['inspect', at]],
  ['an archive for the shelf', () => join(folder, 'pipe.zip'), (at) => ['shelf', 'add', at, '--shelf', shelf()]],
  ['a checksum file beside the archive', () => `${archive}.sha256`, () => ['inspect', archive]],
  ['a shared checksum file', () => join(folder, 'SHA256SUMS'), () => ['inspect', archive]],
  ["a signer's certificate", () => join(folder, 'signer.pem'), (at) => ['inspect', archive, '--signer', at]],
  ['a family', () => join(folder, 'pipe.yaml'), (at) => ['label', panelLabel, '--family', at]],
  ['a family in a folder', () => join(folder, 'families', 'pipe.yaml'), (at) => ['family', 'check', dirname(at)]],
  ['examples of a fleet', () => join(folder, 'fleet.yaml'), (at) => ['family', 'new', '--from', at, '--dry-run']],
  [
    'a release note',
    () => join(folder, 'note.txt'),
    (at) => ['shelf', 'add', archive, '--note', at, '--shelf', shelf()],
  ],
  ['the mark of a shelf', () => join(folder, 'other', 'shelf.json'), (at) => ['shelf', 'list', '--shelf', dirname(at)]],
  ['a room list', () => join(folder, 'rooms.csv'), (at) => ['round', 'plan', at, '--sticks', '1']],
  ['the plan of a round', () => join(folder, 'r1', 'round.json'), (at) => ['round', 'status', '--round', dirname(at)]],
  ['records to merge', () => join(folder, 'theirs.jsonl'), (at) => ['round', 'merge', at, '--round', folder]],
  ['the key of another desk', () => join(folder, 'desk.pub'), (at) => ['verify', folder, '--seal-from', at]],
  ['a stick', () => join(folder, 'stick'), (at) => prepareWords(at)],
];

for (const [what, at, words] of places) {
  pipe(`a named pipe where there should be ${what} is an error at once`, { tags: ['nobody-else'] }, () => {
    const path = at();
    const { status, said } = withPipe(path, () => ask(words(path)));
    expect(said).toMatch(/named pipe|neither a folder, an image file nor a drive/);
    expect(status).toBe(3);
  });
}

pipe('a record on the shelf that is a pipe is damage of that package, and the rest is listed', () => {
  const own = join(folder, 'own shelf');
  expect(ask(['shelf', 'add', archive, '--shelf', own]).status).toBe(4);
  const [id = ''] = readdirSync(join(own, 'packages'));
  const record = join(
    own,
    'packages',
    id,
    readdirSync(join(own, 'packages', id)).find((name) => name !== packageName) ?? '',
  );
  rmSync(record);
  const { status, said } = withPipe(record, () => ask(['shelf', 'list', '--shelf', own]));
  expect(said).toContain('named pipe');
  expect(status).not.toBeNull();
});

pipe("the desk's own key and its column memory may be pipes too: said, and nothing waits", () => {
  const at = join(folder, 'desk.key');
  const key = withPipe(at, () => {
    run('chmod', '600', at);
    return ask(['seal', 'show'], { STICKWRIGHT_SEAL_KEY: at });
  });
  expect(key.said).toContain('named pipe');
  expect(key.status).toBe(3);
  const list = join(folder, 'list.csv');
  writeFileSync(list, `room,label\nHall,${panelLabel}\n`);
  const memory = join(folder, 'memory.json');
  const said = withPipe(memory, () =>
    ask(['round', 'plan', list, '--sticks', '1', '--shelf', shelf()], { STICKWRIGHT_COLUMNS: memory }),
  );
  expect(said.said).toContain('named pipe');
  expect(said.status).not.toBeNull();
});

pipe('a socket and a device are told by what they are', { tags: ['nobody-else'] }, async () => {
  const path = join(folder, 'socket.zip');
  const server = createServer().listen(path);
  await new Promise((resolve) => server.once('listening', resolve));
  expect(ask(['inspect', path])).toMatchObject({ status: 3, said: expect.stringContaining('is a socket') });
  server.close();
  expect(ask(['inspect', '/dev/zero'])).toMatchObject({ status: 3, said: expect.stringContaining('is a device') });
  const link = join(folder, 'SHA256SUMS');
  symlinkSync('/dev/zero', link);
  expect(ask(['inspect', archive])).toMatchObject({ status: 3, said: expect.stringContaining('is a device') });
  rmSync(link);
});

pipe('a link to a regular file is that file, as people link archives', () => {
  mkdirSync(join(folder, 'linked'));
  copyFileSync(archive, join(folder, 'kept.zip'));
  const link = join(folder, 'linked', packageName);
  symlinkSync(join(folder, 'kept.zip'), link);
  expect(ask(['inspect', link, '--label', panelLabel])).toMatchObject({ status: 4 });
});
