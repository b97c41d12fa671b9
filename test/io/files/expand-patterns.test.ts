import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { expandPatterns } from '../../../src/io/files/expand-patterns.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright patterns-'));
  for (const name of ['b.zip', 'a.zip', 'c.txt', 'odd[1].zip']) writeFileSync(join(folder, name), '');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const expanded = async (...names: string[]) =>
  (await expandPatterns(names.map((name) => join(folder, name)))).map((path) => basename(path));

it('expands what the shell did not, in order', async () => {
  expect(await expanded('*.zip')).toEqual(['a.zip', 'b.zip', 'odd[1].zip']);
});

it('takes a name that exists as it is, also with a bracket in it', async () => {
  expect(await expanded('odd[1].zip', 'c.txt')).toEqual(['odd[1].zip', 'c.txt']);
});

it('leaves a name that matches nothing, so that it is reported as missing', async () => {
  expect(await expanded('*.7z', 'none.zip')).toEqual(['*.7z', 'none.zip']);
});
