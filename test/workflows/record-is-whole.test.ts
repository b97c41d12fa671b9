import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { type Finding, severityOf } from '../../src/core/findings/finding.ts';
import { newDeskKey } from '../../src/io/files/desk-key.ts';
import type { Ports } from '../../src/workflows/ports.ts';
import type { PrepareRequest } from '../../src/workflows/prepare-sticks.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, makePublishedArchive, prepare, testPorts } from '../fixtures/desk.ts';
import { comeBack } from '../fixtures/returned.ts';
import { idle } from '../fixtures/shelf/desk.ts';

let folder: string;
let archivePath: string;
let target: string;
let sealing: Ports;

const accepted = new Map(
  ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'].map((code) => [
    `stick/${code}`,
    'a folder in a test',
  ]),
);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright record-'));
  archivePath = await makePublishedArchive(folder);
  const at = join(folder, 'desk');
  sealing = { ...testPorts, deskKey: newDeskKey({ privatePath: `${at}.key`, publicPath: `${at}.pub` }) };
});
beforeEach(() => {
  target = mkdtempSync(join(folder, 'stick-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A folder takes the place of a stick, so that anything can be changed as anybody could. */
const make = async (ports: Ports = testPorts, wish: Partial<PrepareRequest> = {}) => {
  const { report } = await prepare({ archivePath, targets: [target], accepted, ...wish }, ports);
  return report;
};
const verify = (quick = false) => verifyStick({ target, label: undefined, quick, replugged: true }, testPorts, idle);
const codes = (findings: readonly Finding[]): readonly string[] =>
  findings.filter((found) => ['stop', 'unproven'].includes(severityOf(found))).map(({ code }) => code);
const inRecord = (name: string): string => join(target, 'stickwright', name);

const changes: readonly (readonly [what: string, change: () => void, quick: boolean])[] = [
  ['the list is gone', () => rmSync(inRecord('checksums.sha256')), true],
  ['the note is gone', () => rmSync(inRecord('what-is-this-stick.txt')), true],
  ['the list is empty', () => writeFileSync(inRecord('checksums.sha256'), ''), true],
  ['a line was taken out of the list', () => edit('checksums.sha256', (text) => text.replace(/^.*\n/, '')), true],
  ['a digit of the list was changed', () => edit('checksums.sha256', (text) => flip(text)), false],
  ['the note names another label', () => edit('what-is-this-stick.txt', (text) => text.replace('K2', 'K3')), false],
];
const edit = (name: string, by: (text: string) => string): void =>
  writeFileSync(inRecord(name), by(readFileSync(inRecord(name), 'utf8')));
const flip = (text: string): string => (text.startsWith('0') ? '1' : '0') + text.slice(1);

describe('what lies beside the manifest', () => {
  for (const [what, change, quick] of changes) {
    test(`${what}: it is not ready, and the same command mends it`, {
      tags: ['any-machine-checks', 'work-goes-on'],
    }, async () => {
      await make();
      expect((await verify()).verdict).toBe('ready');
      change();
      expect(codes((await verify()).findings)).toEqual(['verify/record-changed']);
      expect(codes((await verify(true)).findings)).toEqual(
        quick ? ['verify/record-changed', 'verify/content-not-read'] : ['verify/content-not-read'],
      );
      expect(codes((await comeBack({ target })).findings)).toEqual(['verify/record-changed']);

      const [stick] = (await make()).sticks;
      expect(stick?.state).toBe('written');
      expect(stick?.plan?.items.filter(({ action }) => action === 'write')).toEqual([]);
      expect((await verify()).verdict).toBe('ready');
      execFileSync('sha256sum', ['--quiet', '-c', 'stickwright/checksums.sha256'], { cwd: target });
    });
  }

  test('a whole record is left alone', { tags: ['plan-before-touch'] }, async () => {
    await make(sealing);
    expect((await make(sealing)).sticks[0]?.state).toBe('unchanged');
  });

  test('a seal that was taken away is missed without any key at hand', { tags: ['any-machine-checks'] }, async () => {
    await make(sealing);
    expect((await verify()).verdict).toBe('ready');
    rmSync(inRecord('seal.json'));
    expect(codes((await verify()).findings)).toEqual(['verify/seal-removed']);
    expect((await make()).sticks[0]?.state).toBe('written');
    expect((await verify()).verdict).toBe('ready');
  });

  test('a seal of another desk over a manifest that names none is no seal', {
    tags: ['any-machine-checks'],
  }, async () => {
    await make(sealing);
    const seal = readFileSync(inRecord('seal.json'));
    rmSync(target, { recursive: true });
    mkdirSync(target);
    await make();
    writeFileSync(inRecord('seal.json'), seal);
    expect(codes((await verify()).findings)).toEqual(['verify/seal-broken']);
  });

  test('a name that stands twice in manifest or seal is no whole one', { tags: ['any-machine-checks'] }, async () => {
    await make(sealing);
    edit('seal.json', (text) => text.replace('{', '{ "algorithm": "none",'));
    expect(codes((await verify()).findings)).toEqual(['verify/seal-broken']);
    edit('manifest.json', (text) => text.replace('{', '{ "mode": "in-os",'));
    expect(codes((await verify()).findings)).toEqual(['verify/manifest-broken']);
  });
});

describe('a doubt of one preparation and the next', () => {
  const bare = async (): Promise<string> => {
    const alone = join(folder, 'no hash');
    mkdirSync(alone, { recursive: true });
    return await makeArchive(alone);
  };

  test('is settled by the hash alone', { tags: ['doubt-stays'] }, async () => {
    const archive = await bare();
    expect((await make(testPorts, { archivePath: archive })).verdict).toBe('unproven');
    expect(codes((await verify()).findings)).toEqual(['verify/was-unproven']);
    expect((await make(testPorts, { archivePath: archive })).verdict).toBe('unproven');
    expect(codes((await verify()).findings)).toEqual(['verify/was-unproven']);
    expect((await make()).verdict).toBe('ready');
    expect((await verify()).verdict).toBe('ready');
  });

  test('that is known before the pass comes into the record of a stick that is right already', {
    tags: ['doubt-stays'],
  }, async () => {
    await make();
    const known = [{ code: 'build/cannot-order', subject: 'x', facts: {} }] as const;
    expect((await make(testPorts, { known })).verdict).toBe('unproven');
    expect(codes((await verify()).findings)).toEqual(['verify/was-unproven']);
  });

  test('is not lost where a stop is accepted that was not there before', { tags: ['doubt-stays'] }, async () => {
    await make();
    const known = [{ code: 'build/older', subject: 'x', facts: {} }] as const;
    await make(testPorts, { known, accepted: new Map([...accepted, ['build/older', 'the maker says so']]) });
    const overrides = (await verify()).manifest?.overrides.map(({ code }) => code);
    expect(overrides).toContain('build/older');
  });
});
