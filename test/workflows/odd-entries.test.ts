import { execFileSync } from 'node:child_process';
import {
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readlinkSync,
  renameSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { smallTree } from '../fixtures/cut-scenarios.ts';
import { makeArchive, prepare, testPorts } from '../fixtures/desk.ts';
import { codesOf, comeBack } from '../fixtures/returned.ts';

let folder: string;
let archivePath: string;
let sticks = 0;
const accepted = new Map(
  ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'].map((code) => [
    `stick/${code}`,
    'a folder in a test',
  ]),
);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright odd-'));
  archivePath = await makeArchive(folder, smallTree);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function preparedStick(before: (target: string) => void = () => {}): Promise<string> {
  const target = join(folder, `stick ${++sticks}`);
  mkdirSync(target);
  before(target);
  const { report } = await prepare({ archivePath, mode: 'recovery', targets: [target], accepted });
  expect(report.sticks[0]?.state).toBe('written');
  return target;
}

const verify = async (target: string) =>
  codesOf(
    (
      await verifyStick({ target, label: undefined, quick: false, replugged: true }, testPorts, {
        tell: () => {},
        signal: new AbortController().signal,
      })
    ).findings,
  );

/** café in Latin-1: what a volume shows that is mounted without UTF-8 names. */
const latin1 = Buffer.concat([Buffer.from('caf'), Buffer.from([0xe9]), Buffer.from('.txt')]);
const latin1In = (target: string): Buffer => Buffer.concat([Buffer.from(`${target}/`), latin1]);

/** What somebody may find on a stick, and what must be said of it. */
const oddities: readonly { name: string; code: string; make: (target: string) => void }[] = [
  { name: 'a name that is no UTF-8', code: 'stick/unreadable-names', make: (at) => writeFileSync(latin1In(at), 'x') },
  {
    name: 'a folder whose name is no UTF-8',
    code: 'stick/unreadable-names',
    make: (at) => {
      mkdirSync(latin1In(at));
      writeFileSync(Buffer.concat([latin1In(at), Buffer.from('/inside.txt')]), 'x');
    },
  },
  { name: 'a symbolic link', code: 'stick/links', make: (at) => symlinkSync('sedge_boot.pkg', join(at, 'last_log')) },
  { name: 'a link that leads nowhere', code: 'stick/links', make: (at) => symlinkSync('/no/such', join(at, 'a.txt')) },
  { name: 'a pipe', code: 'stick/special-files', make: (at) => void execFileSync('mkfifo', [join(at, 'a.pipe')]) },
];

describe.skipIf(process.platform === 'win32')('on a stick that comes back', () => {
  for (const { name, code, make } of oddities) {
    it(`${name} is named, and no reason to retire it`, { tags: ['nobodys-files-vanish'] }, async () => {
      const target = await preparedStick();
      make(target);
      writeFileSync(join(target, 'update.log'), 'failed\n');
      const before = readdirSync(target, 'buffer').map(String);
      const report = await comeBack({ target });
      expect(codesOf(report.findings)).toEqual(expect.arrayContaining([code, 'returned/visited']));
      expect(report.conclusion).not.toBe('retire');
      expect(report.state).not.toBe('unreadable');
      expect(report.filesRead).toBeGreaterThanOrEqual(Object.keys(smallTree).length);
      // The rest goes on: the log is kept at the desk and cleared, the oddity stays.
      const kept = join(folder, `kept ${sticks}`);
      const cleared = await comeBack({ target, clear: true, keepLeft: kept });
      expect(cleared.clearing.state).toBe('cleared');
      const after = readdirSync(target, 'buffer').map(String);
      expect(after).not.toContain('update.log');
      expect(before.filter((one) => after.includes(one)).length).toBe(1);
    });
  }

  it('a link in place of a firmware file is a file that is missing, and not a worn stick', async () => {
    const target = await preparedStick();
    renameSync(join(target, 'sedge_boot.pkg'), join(folder, 'elsewhere.pkg'));
    symlinkSync(join(folder, 'elsewhere.pkg'), join(target, 'sedge_boot.pkg'));
    const codes = await verify(target);
    expect(codes).toEqual(expect.arrayContaining(['verify/missing', 'stick/links']));
    expect(codes).not.toContain('verify/unreadable');
    expect((await comeBack({ target })).conclusion).toBe('prepare-anew');
  });
});

describe.skipIf(process.platform === 'win32')('on a stick that is prepared', () => {
  for (const { name, code, make } of oddities) {
    it(`${name} is named, stays, and keeps nobody from the rest`, { tags: ['nobodys-files-vanish'] }, async () => {
      const target = await preparedStick(make);
      const codes = await verify(target);
      expect(codes).toContain(code);
      expect(codes).not.toContain('verify/unreadable');
      expect(readdirSync(target, 'buffer').length).toBeGreaterThan(Object.keys(smallTree).length > 0 ? 2 : 0);
      if (name === 'a symbolic link') expect(readlinkSync(join(target, 'last_log'))).toBe('sedge_boot.pkg');
    });
  }
});
