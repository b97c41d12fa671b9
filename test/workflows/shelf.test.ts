import {
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  unlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { Family } from '../../src/core/model/family.ts';
import type { ShelfAddition } from '../../src/core/report/shelf-reports.ts';
import type { Shelf } from '../../src/io/shelf/shelf.ts';
import { addToShelf } from '../../src/workflows/shelf-add.ts';
import { checkShelf } from '../../src/workflows/shelf-check.ts';
import { compareWithName, compareWithShelf, findPackageOnShelf } from '../../src/workflows/shelf-find.ts';
import { exportFromShelf, listShelf, removeFromShelf } from '../../src/workflows/shelf-list.ts';
import { sampleFamilies } from '../core/label/families.ts';
import { sha256, testPorts } from '../fixtures/desk.ts';
import { addPackages, idle, makePackage, openTestShelf } from '../fixtures/shelf/desk.ts';
import { makeZip, metadataName, metadataText, usualMetadata } from '../fixtures/update-packages/make-package.ts';
import { makeSigner, signPackage } from '../fixtures/update-packages/sign-package.ts';
import { needs } from '../outside/needs.ts';

const root = mkdtempSync(join(tmpdir(), 'stickwright-shelf-work-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));

const name = 'reed.746_5B_second_K2.zip';
let families: readonly Family[];
let archive: string;
let folder: string;
let shelf: Shelf;
let count = 0;

beforeAll(async () => {
  families = await sampleFamilies();
  archive = await makePackage(root, name);
});
beforeEach(async () => {
  folder = join(root, `case ${++count}`);
  mkdirSync(folder);
  shelf = await openTestShelf(folder);
});

const add = async (path: string, wish: Parameters<typeof addPackages>[3] = {}): Promise<ShelfAddition> => {
  const [addition] = (await addPackages(shelf, [path], families, wish)).additions;
  if (addition === undefined) throw new Error('no answer');
  return addition;
};
/** Whose hash nobody could compare. */
const open = 'shelf/unproven-when-added';
const published = (path: string) =>
  [{ algorithm: 'SHA-256', hex: sha256(readFileSync(path)), from: 'the command line' }] as const;
const codesOf = ({ findings }: Pick<ShelfAddition, 'findings'>): readonly string[] => findings.map(({ code }) => code);
const namesOnShelf = async (): Promise<readonly string[]> =>
  (await shelf.list()).packages.map(({ record }) => record.name);

describe('adding', () => {
  it('keeps the package with its result, digest, address, date, note and build', async () => {
    const added = await add(archive, { note: 'From build reed.608 on.' });
    const { state, shelved } = added;
    expect(state).toBe('added');
    expect(codesOf(added)).toEqual(expect.arrayContaining(['shelf/added', 'archive/no-published-hash']));
    expect(shelved?.record).toMatchObject({
      name,
      bytes: readFileSync(archive).length,
      sha256: sha256(readFileSync(archive)),
      addedAt: testPorts.now(),
      family: 'sedge',
      build: 'reed.746',
      from: 'https://support.example/panels/',
      note: 'From build reed.608 on.',
      signature: { state: 'none' },
    });
    // Nobody published a hash for it, and the record says so for all who come after.
    expect(shelved?.record.result).toMatchObject({
      verdict: 'unproven',
      findings: [{ code: 'archive/no-published-hash' }],
    });
  });

  it('remembers that the published hash was right', async () => {
    const claim = { algorithm: 'SHA-256' as const, hex: sha256(readFileSync(archive)), from: 'the command line' };
    const { shelved } = await add(archive, { claims: [claim] });
    expect(shelved?.record.result).toMatchObject({ verdict: 'ready', findings: [{ code: 'archive/hash-matches' }] });
  });

  it('knows the same file again, under its name and under another', async () => {
    await add(archive);
    expect(codesOf(await add(archive))).toContain('shelf/already-there');
    const copy = join(folder, 'reed.746_5B_second_K2 (1).zip');
    copyFileSync(archive, copy);
    const again = await add(copy);
    expect(again.state).toBe('there');
    expect(codesOf(again)).toContain('shelf/same-content-other-name');
    expect(await namesOnShelf()).toEqual([name]);
  });

  it('stops at the same name with other content, in any case of its letters', async () => {
    await add(archive);
    const other = await makePackage(folder, name.toLowerCase(), 77);
    const refused = await add(other);
    expect(refused).toMatchObject({ state: 'refused', verdict: 'not-ready', shelved: undefined });
    expect(codesOf(refused)).toContain('shelf/name-taken');
    expect(await namesOnShelf()).toEqual([name]);
    expect(readdirSync(join(shelf.place, 'incoming'))).toEqual([]);
  });

  it('refuses what is not sound, and keeps nothing of it', async () => {
    const damaged = join(folder, 'reed.747_5B_second_K2.zip');
    const bytes = readFileSync(archive);
    bytes[2_000] = (bytes[2_000] ?? 0) ^ 1;
    writeFileSync(damaged, bytes);
    const refused = await add(damaged);
    expect(refused.state).toBe('refused');
    expect(codesOf(refused)).toContain('archive/content-damaged');
    const cut = join(folder, 'reed.748_5B_second_K2.zip');
    writeFileSync(cut, readFileSync(archive).subarray(0, 6_000));
    expect((await add(cut)).state).toBe('refused');
    expect(await namesOnShelf()).toEqual([]);
    expect(readdirSync(join(shelf.place, 'incoming'))).toEqual([]);
  });

  it('repairs a copy that rotted, under the record it had', async () => {
    const first = (await add(archive, { note: 'the first' })).shelved;
    writeFileSync(first?.path ?? '', 'rotten');
    const again = await add(archive, { note: 'the second' });
    expect(again.state).toBe('restored');
    expect(codesOf(again)).toContain('shelf/restored');
    expect(again.shelved?.record).toEqual(first?.record);
    expect(readFileSync(again.shelved?.path ?? '')).toEqual(readFileSync(archive));
    expect(await namesOnShelf()).toEqual([name]);
  });

  it('goes on with the others where one cannot be read', async () => {
    const report = await addPackages(shelf, [join(folder, 'missing.zip'), archive], families);
    expect(report.additions.map(({ state, error }) => [state, error?.code])).toEqual([
      ['failed', 'file/not-found'],
      ['added', undefined],
    ]);
  });

  it('leaves nothing where it is interrupted', async () => {
    const stop = new AbortController();
    const tell = () => stop.abort(new Error('interrupted by SIGINT'));
    const request = { archivePaths: [archive], families, familiesNamed: true, trusted: [], accepted: new Map() };
    const work = { request: { ...request, from: undefined, note: undefined }, shelf, made: false, ports: testPorts };
    await expect(addToShelf({ ...work, running: { tell, signal: stop.signal } })).rejects.toThrow('interrupted');
    expect(readdirSync(join(shelf.place, 'incoming'))).toEqual([]);
    expect(await namesOnShelf()).toEqual([]);
  });
});

describe('two desks at the same moment', () => {
  /** Both look at the empty shelf before either puts anything there. */
  async function meet(first: string, second: string): Promise<readonly ShelfAddition[]> {
    let looking = 0;
    let bothLooked = (): void => {};
    const met = new Promise<void>((resolve) => {
      bothLooked = resolve;
    });
    const desk: Shelf = {
      ...shelf,
      async list() {
        const listing = await shelf.list();
        if (++looking === 2) bothLooked();
        await met;
        return listing;
      },
    };
    const reports = await Promise.all([first, second].map((path) => addPackages(desk, [path], families)));
    return reports.flatMap(({ additions }) => additions);
  }

  it('with one name and two contents: at most one is kept, and nobody is told otherwise', async () => {
    const other = await makePackage(folder, name, 77);
    const said = await meet(archive, other);
    const kept = said.filter(({ state }) => state === 'added');
    expect(await namesOnShelf()).toHaveLength(kept.length);
    expect(kept.length).toBeLessThan(2);
    const refused = said.filter(({ state }) => state === 'refused');
    expect(refused.length).toBeGreaterThan(0);
    for (const one of refused) expect(codesOf(one)).toContain('shelf/name-taken');
  });

  it('with the same file: it is kept, and both are told so', async () => {
    const said = await meet(archive, archive);
    expect(said.map(({ state }) => state).filter((state) => state !== 'added' && state !== 'there')).toEqual([]);
    expect((await listShelf([], shelf)).packages).toHaveLength(1);
  });

  it('that were both cut off after putting them there: everybody is stopped by the pair', async () => {
    const other = await makePackage(folder, name, 77);
    // A desk that dies between its rename and its second look has put its package there, and no more.
    const blind: Shelf = { ...shelf, list: async () => ({ packages: [], damaged: [] }) };
    await addPackages(blind, [archive], families);
    await addPackages(blind, [other], families);
    expect(codesOf(await listShelf([], shelf)).filter((code) => code !== open)).toEqual(['shelf/name-twice']);
    expect(codesOf(await add(archive))).toContain('shelf/name-taken');
    const found = await findPackageOnShelf(
      { label: 'K2-second 75/5B', running: undefined, families, options: [] },
      shelf,
    );
    expect(found).toMatchObject({ verdict: 'not-ready', prepare: undefined });
  });
});

describe('checking', () => {
  it('reads everything again and finds each kind of rot', async () => {
    const names = [740, 741, 742, 743].map((count) => `reed.${count}_5B_second_K2.zip`);
    const paths = await Promise.all(names.map((one, at) => makePackage(folder, one, at * 10)));
    const { additions } = await addPackages(shelf, paths, families);
    const [whole, changed, shorter, gone] = additions.map(({ shelved }) => shelved?.path ?? '');
    const bytes = readFileSync(changed ?? '');
    bytes[100] = (bytes[100] ?? 0) ^ 4;
    writeFileSync(changed ?? '', bytes);
    writeFileSync(shorter ?? '', readFileSync(shorter ?? '').subarray(0, 50));
    unlinkSync(gone ?? '');
    writeFileSync(join(whole ?? '', '..', 'copied here.txt'), 'by hand');
    writeFileSync(join(shelf.place, 'reed.1096_5B_second_K2.zip'), 'by hand');
    const report = await checkShelf([], shelf, idle);
    expect(report.verdict).toBe('not-ready');
    expect(report.findings.map(({ code, subject }) => `${code} ${subject}`).toSorted()).toEqual([
      `shelf/content-changed ${names[1]}`,
      `shelf/content-changed ${names[2]}`,
      `shelf/content-missing ${names[3]}`,
      `shelf/sound ${shelf.place}`,
      'shelf/stranger copied here.txt',
      'shelf/stranger reed.1096_5B_second_K2.zip',
      ...names.map((one) => `${open} ${one}`),
    ]);
    expect((await checkShelf([names[0] ?? ''], shelf, idle)).verdict).toBe('unproven');
  });

  it('tells what cannot be read, and what a later version wrote, from what rotted', async () => {
    const { shelved } = await add(archive);
    const later = await add(await makePackage(folder, 'reed.747_5B_second_K2.zip', 7));
    const record = join(later.shelved?.path ?? '', '..', 'record.json');
    const text = readFileSync(record, 'utf8');
    writeFileSync(record, text.replace(/(stickwright\/[a-z-]+\/)\d+/, '$199'));
    rmSync(shelved?.path ?? '');
    mkdirSync(shelved?.path ?? ''); // a folder: there, and nobody can read it as a file
    const { verdict, findings } = await checkShelf([], shelf, idle);
    expect(verdict).toBe('not-ready');
    expect(findings.map(({ code, subject }) => `${code} ${subject}`)).toEqual(
      expect.arrayContaining([`shelf/content-unreadable ${name}`, `shelf/record-newer ${later.shelved?.id}`]),
    );
  });
});

describe('removing and copying out', () => {
  it('removes only what was understood and agreed to', async () => {
    await add(archive);
    const no = await removeFromShelf([name], shelf, async () => false);
    expect(no).toMatchObject({ declined: true, removed: [] });
    const wrong = await removeFromShelf([name, 'reed.746_5B_second_K9.zip'], shelf, async () => true);
    expect(wrong.verdict).toBe('not-ready');
    expect(await namesOnShelf()).toEqual([name]);
    const yes = await removeFromShelf([name], shelf, async () => true);
    expect(yes.findings.map(({ code }) => code)).toEqual(['shelf/removed']);
    expect(await namesOnShelf()).toEqual([]);
  });

  it('copies out by the first digits of the SHA-256', async () => {
    const { shelved } = await add(archive);
    const digits = shelved?.record.sha256.slice(0, 10) ?? '';
    const report = await exportFromShelf({ words: [digits], folder }, shelf, idle.signal);
    expect(report.exported).toMatchObject([{ to: join(folder, name), state: 'copied' }]);
    expect(report.findings.map(({ code }) => code)).toContain('shelf/exported');
    expect(readFileSync(join(folder, name))).toEqual(readFileSync(archive));
    // The same copy is there already; what else has the name is somebody's.
    const again = await exportFromShelf({ words: [digits], folder }, shelf, idle.signal);
    expect(again.findings.map(({ code }) => code)).toContain('shelf/export-there');
    writeFileSync(join(folder, name), 'something else');
    const taken = await exportFromShelf({ words: [digits], folder }, shelf, idle.signal);
    expect(taken.findings.map(({ code }) => code)).toContain('shelf/export-name-taken');
    expect(readFileSync(join(folder, name), 'utf8')).toBe('something else');
  });
});

describe('finding and comparing', () => {
  it('prints the command for the next stick, and none where there is a stop', async () => {
    await add(archive);
    const asked = { label: 'K2-second 75/5B', families, options: ['--shelf', 'S'] };
    const found = await findPackageOnShelf({ ...asked, running: 'reed.638' }, shelf);
    expect(found.prepare).toBe(
      'stickwright prepare --from-shelf --mode in-os --label "K2-second 75/5B" --running reed.638 --shelf S --stick STICK',
    );
    expect(codesOf(found)).toEqual(expect.arrayContaining(['shelf/newest', 'provenance/address']));
    expect((await findPackageOnShelf({ ...asked, running: 'reed.1096' }, shelf)).prepare).toBeUndefined();
  });

  it('says newer, same, older and cannot tell, by name and by label', async () => {
    await add(archive, { claims: published(archive) });
    const answers = {
      'reed.638': 'newer',
      'reed.746': 'same',
      'reed.747': 'older',
      V9: 'cannot-order',
      'V9.1': undefined,
    };
    const verdicts = {
      'reed.638': 'ready',
      'reed.746': 'ready',
      'reed.747': 'not-ready',
      V9: 'unproven',
      'V9.1': 'unproven',
    };
    for (const [running, order] of Object.entries(answers)) {
      const verdict = verdicts[running as keyof typeof verdicts];
      expect(compareWithName(name, { running, families })).toMatchObject({ order, verdict });
      expect(await compareWithShelf('K2-second 75/5B', { running, families }, shelf)).toMatchObject({ order, verdict });
    }
    const unknown = compareWithName('firmware.zip', { running: '1', families });
    expect(unknown).toMatchObject({ verdict: 'unproven', findings: [{ code: 'compare/no-family' }] });
  });

  it('compares nothing with a package whose name states no build', async () => {
    const [sedge] = families.filter(({ family }) => family === 'sedge');
    if (sedge === undefined) throw new Error('the sample has this family');
    const pattern = '^(?<model>K\\d)\\.zip$';
    const silent = [{ ...sedge, packages: [{ pattern, absent: {}, agree: ['model'], examples: [] }] }];
    expect(compareWithName('K2.zip', { running: 'reed.638', families: silent })).toMatchObject({
      verdict: 'unproven',
      findings: [{ code: 'shelf/build-unstated' }],
    });
  });

  it('gives the way over bridges', async () => {
    const { steps, verdict } = compareWithName(name, { running: 'reed.0', families });
    expect(steps.map(({ build }) => build)).toEqual(['reed.608', 'reed.746']);
    expect(verdict).toBe('not-ready');
  });
});

describe('who signed it', () => {
  const entries = (build: string) => {
    const metadata = { ...usualMetadata, 'ota-type': 'BLOCK', 'post-build-incremental': build };
    return [
      { name: metadataName, content: metadataText(metadata) },
      { name: 'sedge_boot.pkg', content: build },
    ];
  };

  needs({ openssl: 'openssl' })(
    'is kept, compared with the last package of the family, and a change stops',
    async () => {
      const [maker, stranger] = [makeSigner('rsa-2048', 'sha256'), makeSigner('rsa-2048', 'sha256', 'Stranger')];
      const make = async (build: string, signer: typeof maker | undefined): Promise<string> => {
        const path = join(folder, `${build}_5B_second_K2.zip`);
        const zip = await makeZip(entries(build));
        writeFileSync(path, signer === undefined ? zip : signPackage(zip, signer));
        return path;
      };
      const first = await add(await make('reed.746', maker));
      expect(first.shelved?.record.signature).toMatchObject({ state: 'intact', fingerprint: maker.fingerprint });
      expect(codesOf(first)).toContain('provenance/signer-first');
      expect(codesOf(await add(await make('reed.747', maker)))).toContain('provenance/signer-same');

      const changed = await make('reed.748', stranger);
      expect(codesOf(await add(changed))).toContain('provenance/signer-changed');
      expect(codesOf(await add(await make('reed.749', undefined)))).toContain('provenance/signature-gone');
      expect(await namesOnShelf()).toHaveLength(2);

      const because = 'the maker confirmed the new key by telephone';
      const accepted = new Map([['provenance/signer-changed', because]]);
      const { state, shelved } = await add(changed, { accepted, claims: published(changed) });
      expect(state).toBe('added');
      expect(shelved?.record.result.findings).toContainEqual(
        expect.objectContaining({ code: 'provenance/signer-changed', acceptedBecause: because }),
      );
      const found = await findPackageOnShelf(
        { label: 'K2-second 75/5B', running: 'reed.747', families, options: [] },
        shelf,
      );
      expect(found.answer.chosen?.id).toBe(shelved?.id);
      expect(codesOf(found)).toContain('shelf/accepted-when-added');
      expect(found.verdict).toBe('ready');
    },
  );
});
