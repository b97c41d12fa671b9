import { mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';

let folder: string;
let whole: Buffer;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright causes-'));
  const path = await makeArchive(folder);
  whole = readFileSync(path);
  renameSync(path, join(folder, 'kept'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** The heads of the blocks, by their word: `STOP archive/cut-off`. */
function blocksOf(name: string, bytes: Buffer | string, label = panelLabel) {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  const { stdout, exitCode } = stickwright(['inspect', path, '--label', label]);
  rmSync(path);
  const heads = [...stdout.matchAll(/^ {2}(STOP|OPEN|MIND)[^[]*\[([a-z/-]+)\]/gm)].map(
    ([, word, code]) => `${word} ${code}`,
  );
  return { heads, exitCode, said: stdout.replace(/\s+/g, ' ') };
}

describe('a file that is no whole archive', () => {
  it('a web page saved under its name is that and nothing else', () => {
    const { heads, exitCode, said } = blocksOf(packageName, '<!doctype html>\n<title>Sign in</title>\n');
    expect([heads, exitCode]).toEqual([['STOP archive/not-a-zip'], 1]);
    expect(said).toContain('The file is a web page');
    expect(said).not.toMatch(/agrees with the label|made for this label/);
    expect(blocksOf('login.zip', '<html>').heads).toEqual(['STOP archive/not-a-zip']);
  });

  it('half a download names the download first, whatever it is called', () => {
    const half = whole.subarray(0, whole.length / 2);
    const running = blocksOf(`${packageName}.crdownload`, half);
    expect(running.heads).toEqual(['STOP archive/name-of-part-download']);
    const stopped = blocksOf(packageName, half);
    expect(stopped.heads).toEqual(['STOP archive/cut-off']);
    expect(stopped.said).toContain('STOP The download stopped early');
  });

  it('still says that it is for another panel: that is another cause', () => {
    expect(blocksOf(packageName, '<html>', 'K3-second 75/5B').heads).toEqual([
      'STOP fit/part-differs',
      'STOP archive/not-a-zip',
    ]);
  });
});

describe('a second download', () => {
  const copy = packageName.replace('.zip', ' (1).zip');

  it('that would fit under its right name says so, once', () => {
    const { heads, said } = blocksOf(copy, whole);
    expect(heads).toEqual(['STOP fit/package-name-unknown', 'OPEN archive/no-published-hash']);
    expect(said).toContain(
      `As "${packageName}" it would be a package of Sedge classroom panels, and it would fit this label.`,
    );
    expect(said).toContain(`rename the file to "${packageName}"`);
  });

  it('that would not fit there either is not to be renamed', () => {
    const { said } = blocksOf(copy, whole, 'K3-second 75/5B');
    expect(said).toContain('and it would not fit this label');
    expect(said).not.toContain('rename the file');
  });
});

it('--json keeps every finding and says from which it follows', () => {
  const path = join(folder, 'page.zip');
  writeFileSync(path, '<html>');
  const { findings } = JSON.parse(stickwright(['inspect', path, '--json']).stdout) as {
    readonly findings: readonly { readonly code: string; readonly followsFrom?: string }[];
  };
  expect(findings.map(({ code, followsFrom }) => [code, followsFrom])).toEqual([
    ['archive/not-a-zip', undefined],
    ['archive/no-published-hash', 'archive/not-a-zip'],
  ]);
});
