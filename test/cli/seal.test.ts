import {
  chmodSync,
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { withOwnDigest } from '../../src/core/documents/own-digest.ts';
import { parseManifest, serialiseManifest } from '../../src/core/manifest/build-manifest.ts';
import { stickRecordFiles } from '../../src/core/manifest/record-files.ts';
import type { Manifest2 } from '../../src/core/model/manifest.ts';
import { checksumList } from '../../src/core/text/checksum-list.ts';
import { sha256 as sha256OfText } from '../../src/io/digest/node-digest.ts';
import { stickwright } from '../fixtures/command.ts';
import { makePublishedArchive, panelLabel, sha256 } from '../fixtures/desk.ts';
import { run } from '../fixtures/volumes/scratch.ts';
import { needs } from '../outside/needs.ts';

let folder: string;
let archive: string;
let desk: { key: string; pub: string };
let other: { key: string; pub: string };

const newDesk = (name: string): { key: string; pub: string } => {
  const key = join(folder, name, 'desk.key');
  const { exitCode, stdout } = stickwright(['seal', 'new'], { STICKWRIGHT_SEAL_KEY: key });
  expect(exitCode).toBe(0);
  expect(stdout).toMatch(/Key {8}[0-9a-f]{4}(-[0-9a-f]{4}){3}\n/);
  return { key, pub: join(folder, name, 'desk.pub') };
};

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright seals-'));
  archive = await makePublishedArchive(folder);
  desk = newDesk('our desk');
  other = newDesk('another desk');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const stops = ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'];
const accepted = stops.flatMap((code) => ['--accept', `stick/${code}`, '--because', 'a folder in a test']);

/** A folder takes the place of a stick, so that it can be changed as anybody could change one. */
function prepareStick(name: string, key: string | undefined): string {
  const target = join(folder, name);
  mkdirSync(target, { recursive: true });
  const { exitCode, stdout } = stickwright(
    [
      'prepare',
      archive,
      '--mode',
      'recovery',
      '--label',
      panelLabel,
      '--running',
      'reed.746',
      '--stick',
      target,
      '--yes',
      ...accepted,
    ],
    { STICKWRIGHT_SEAL_KEY: key ?? join(folder, 'no key') },
  );
  expect([0, 4], stdout).toContain(exitCode);
  return target;
}

const verify = (target: string, ...words: readonly string[]) => {
  const { exitCode, stdout } = stickwright(['verify', target, '--replugged', '--json', ...words]);
  const { findings } = JSON.parse(stdout) as { findings: readonly { code: string }[] };
  return { exitCode, codes: findings.map(({ code }) => code).filter((code) => /seal/.test(code)) };
};

/** Changes a firmware file, and makes a manifest and a list that agree with it: whole, in every way but the seal. */
function forge(target: string): void {
  const path = join(target, 'stickwright/manifest.json');
  const evil = Buffer.from('not what the maker wrote\n');
  writeFileSync(join(target, 'release-note.txt'), evil);
  const { selfSha256: _old, ...manifest } = JSON.parse(readFileSync(path, 'utf8')) as Manifest2;
  const files = manifest.files.map((file) =>
    file.path === 'release-note.txt' ? { ...file, bytes: evil.length, sha256: sha256(evil) } : file,
  );
  const record = [...stickRecordFiles({ ...manifest, files }, sha256OfText)];
  const forged = withOwnDigest({ ...manifest, files, record, sealedBy: null }, sha256OfText);
  writeFileSync(path, serialiseManifest(forged));
  writeFileSync(join(target, 'stickwright/checksums.sha256'), checksumList(files));
  expect(parseManifest(readFileSync(path, 'utf8'), sha256OfText).state).toBe('whole');
}

describe("a desk's key", () => {
  it('is for this account alone, and is never overwritten', () => {
    if (process.platform !== 'win32') expect(statSync(desk.key).mode & 0o777).toBe(0o600);
    const before = readFileSync(desk.key, 'utf8');
    const again = stickwright(['seal', 'new'], { STICKWRIGHT_SEAL_KEY: desk.key });
    expect([again.exitCode, again.stderr]).toEqual([3, expect.stringContaining('never overwritten')]);
    expect(readFileSync(desk.key, 'utf8')).toBe(before);
  });

  it('is not used where others can read it', () => {
    const copy = join(folder, 'open.key');
    copyFileSync(desk.key, copy);
    chmodSync(copy, 0o644);
    if (process.platform === 'win32') return;
    const { exitCode, stderr } = stickwright(['seal', 'show'], { STICKWRIGHT_SEAL_KEY: copy });
    expect([exitCode, stderr]).toEqual([3, expect.stringContaining('chmod 600')]);
  });

  it('is said to be missing where there is none', () => {
    expect(stickwright(['seal', 'show'], { STICKWRIGHT_SEAL_KEY: join(folder, 'none.key') }).exitCode).toBe(3);
    const { exitCode } = stickwright(['verify', folder, '--seal-from', archive]);
    expect(exitCode).toBe(3);
  });
});

describe('a sealed stick', () => {
  it('is taken with the key of its desk and no other', () => {
    const target = prepareStick('sealed', desk.key);
    expect(verify(target, '--seal-from', desk.pub)).toEqual({ exitCode: 0, codes: ['verify/sealed'] });
    expect(verify(target, '--seal-from', other.pub)).toEqual({ exitCode: 1, codes: ['verify/sealed-by-another'] });
    expect(verify(target)).toEqual({ exitCode: 0, codes: ['verify/seal-not-asked'] });
  });

  it('is caught when it was left alone and came back with other content and a fresh manifest', () => {
    const target = prepareStick('left in a room', desk.key);
    forge(target);
    expect(verify(target, '--seal-from', desk.pub)).toEqual({ exitCode: 1, codes: ['verify/seal-broken'] });
    rmSync(join(target, 'stickwright/seal.json'));
    expect(verify(target, '--seal-from', desk.pub)).toEqual({ exitCode: 1, codes: ['verify/seal-missing'] });
    // Without a key nobody can tell, which is what verify says.
    expect(verify(target)).toEqual({ exitCode: 0, codes: ['verify/seal-not-asked'] });
  });

  it('is no seal when it is of another stick, cut short, or not JSON', () => {
    const target = prepareStick('tried on', desk.key);
    const path = join(target, 'stickwright/seal.json');
    const whole = readFileSync(path, 'utf8');
    const seal = JSON.parse(whole) as { signature: string };
    const flipped = Buffer.from(seal.signature, 'base64');
    flipped[5] = (flipped[5] ?? 0) ^ 1;
    const bad = [
      whole.slice(0, 60),
      'no seal',
      JSON.stringify({ ...seal, signature: flipped.toString('base64') }),
      JSON.stringify({ ...seal, signature: '' }),
      JSON.stringify({ ...seal, algorithm: 'none' }),
      JSON.stringify({ ...seal, more: 1 }),
    ];
    for (const text of bad) {
      writeFileSync(path, text);
      expect(verify(target, '--seal-from', desk.pub)).toEqual({ exitCode: 1, codes: ['verify/seal-broken'] });
    }
  });

  it('comes of an unsealed one by the same command, once the desk has a key', () => {
    const target = prepareStick('grown up', undefined);
    expect(verify(target, '--seal-from', desk.pub).codes).toEqual(['verify/seal-missing']);
    prepareStick('grown up', desk.key);
    expect(verify(target, '--seal-from', desk.pub)).toEqual({ exitCode: 0, codes: ['verify/sealed'] });
  });

  needs({ openssl: 'openssl', python3: 'python3' })('can be checked with openssl alone', () => {
    const target = prepareStick('checked elsewhere', desk.key);
    const place = join(folder, 'elsewhere');
    mkdirSync(place);
    const seal = JSON.parse(readFileSync(join(target, 'stickwright/seal.json'), 'utf8')) as Record<string, string>;
    // RFC 8785 for a manifest whose names and numbers are plain: sorted members, no spaces.
    const script =
      'import json,sys; m=json.load(open(sys.argv[1],encoding="utf-8")); m.pop("selfSha256"); sys.stdout.write("stickwright/seal/1\\n"+json.dumps(m,sort_keys=True,separators=(",",":"),ensure_ascii=False))';
    writeFileSync(join(place, 'text'), run('python3', '-c', script, join(target, 'stickwright/manifest.json')));
    writeFileSync(join(place, 'signature'), Buffer.from(seal.signature ?? '', 'base64'));
    const said = run(
      ...(['openssl', 'pkeyutl', '-verify', '-pubin', '-inkey', desk.pub, '-rawin'] as const),
      ...['-in', join(place, 'text'), '-sigfile', join(place, 'signature')],
    );
    expect(said).toContain('Signature Verified Successfully');
    expect(run('openssl', 'pkey', '-in', desk.key, '-noout', '-text')).toContain('ED25519 Private-Key');
    const der = run('openssl', 'pkey', '-pubin', '-in', desk.pub, '-outform', 'DER', '-out', join(place, 'der'));
    expect(der).toBe('');
    expect(readFileSync(join(place, 'der')).toString('base64')).toBe(seal.publicKey);
  });
});
