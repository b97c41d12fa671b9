import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { textsOf } from '../../src/core/findings/finding.ts';
import type { Mode } from '../../src/core/model/mode.ts';
import { loadFamilies } from '../../src/io/families/load-families.ts';
import { firmwareTree, noise, packageName, prepare } from '../fixtures/desk.ts';
import { makeZip, metadataName, metadataText, usualMetadata } from '../fixtures/update-packages/make-package.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let folder: string;
/** The package itself, as a maker would wrap it. */
let inner: Buffer;
let update: Buffer;
let wrapped: Buffer;

const treeEntries = Object.entries(firmwareTree).map(([name, content]) => ({ name, content }));

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright wrapper-'));
  inner = await makeZip(treeEntries);
  wrapped = await makeZip([{ name: 'inside.zip', content: inner, compress: true }, guide]);
  update = await makeZip([
    { name: metadataName, content: metadataText(usualMetadata) },
    { name: 'system.new.dat', content: noise(3, 5000) },
  ]);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let count = 0;
type Entries = Parameters<typeof makeZip>[0];

async function refusedFor(entries: Entries, mode: Mode, families: readonly string[] = ['samples/families/sedge.yaml']) {
  const place = mkdtempSync(join(folder, `case ${++count}-`));
  const archivePath = join(place, packageName);
  writeFileSync(archivePath, await makeZip(entries));
  const target = join(place, 'stick.img');
  await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
  const { report } = await prepare({ archivePath, targets: [target], mode, families: await loadFamilies(families) });
  return {
    state: report.sticks[0]?.state,
    found: report.findings.find(({ code }) => code.startsWith('archive/wrapper')),
    codes: report.findings.map(({ code }) => code),
  };
}

const guide = { name: 'How to update.pdf', content: '%PDF-1.4 invented' };

describe('an archive around the real package', () => {
  const wrappers: Readonly<Record<string, () => Entries>> = {
    'and a guide': () => [{ name: 'inside.zip', content: inner }, guide],
    'deflated, and a guide': () => [{ name: 'inside.zip', content: inner, compress: true }, guide],
    'in a folder of its own': () => [{ name: 'For the panel/inside.zip', content: inner }, guide],
    'under a name that is no archive’s, beside a program': () => [
      { name: 'data.dat', content: inner },
      { name: 'copy to stick.exe', content: 'MZ invented' },
    ],
    'an update package beside a program': () => [
      { name: 'update', content: update, compress: true },
      { name: 'start.exe', content: 'MZ invented' },
    ],
    'two levels deep': () => [
      { name: 'data.dat', content: wrapped, compress: true },
      { name: 'tool.dll', content: 'MZ' },
    ],
  };
  for (const mode of ['recovery', 'in-os'] as const) {
    for (const [name, entries] of Object.entries(wrappers)) {
      test(`${mode}: ${name}, stops before anything is written`, { tags: ['plan-before-touch'] }, async () => {
        const { state, found } = await refusedFor(entries(), mode);
        expect(found?.code).toBe('archive/wrapper');
        expect(state).toBe('refused');
      });
    }
  }

  test('says which file out of it is the right one, and is no fault of a folder', async () => {
    const { found, codes } = await refusedFor(wrappers['in a folder of its own']?.() ?? [], 'recovery');
    if (found === undefined) throw new Error('not found');
    expect(textsOf(found).todo).toContain('"For the panel/inside.zip"');
    expect(codes).not.toContain('archive/nested-folder');
  });
});

describe('an archive that holds archives and is none around them', () => {
  const apps = { name: 'apps/board.zip', content: Buffer.alloc(0) };
  for (const mode of ['recovery', 'in-os'] as const) {
    test(`${mode}: apps beside the images`, async () => {
      const app = { ...apps, content: await makeZip([{ name: 'AndroidManifest.xml', content: 'x' }]) };
      const { state, found } = await refusedFor([...treeEntries, app], mode);
      expect(found).toBeUndefined();
      expect(state).toBe('written');
    });

    test(`${mode}: an update package beside what the family wants at the root`, async () => {
      const { found } = await refusedFor([...treeEntries, { name: 'radio/update.zip', content: update }], mode);
      expect(found).toBeUndefined();
    });
  }

  test('one that the family itself wants at the root', async () => {
    const text = (await import('node:fs')).readFileSync('samples/families/sedge.yaml', 'utf8');
    const family = join(folder, 'zipped.yaml');
    writeFileSync(family, text.replace('["sedge_boot.pkg", "images/*.img"]', '["update.zip"]'));
    const { state, found } = await refusedFor([{ name: 'update.zip', content: inner }, guide], 'recovery', [family]);
    expect(found).toBeUndefined();
    expect(state).toBe('written');
  });
});
