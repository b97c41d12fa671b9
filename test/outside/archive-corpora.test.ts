import { existsSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readWhole } from '../fixtures/archives/read-bytes.ts';
import { archiveCorpora } from './archive-corpora-table.ts';

const corpora = process.env.STICKWRIGHT_CORPORA;
const folder = corpora === undefined ? undefined : join(corpora, 'archives');

/** What the index's words mean for us; the others leave either answer open. */
const toBeStopped = new Set([
  'reject',
  'ambiguous',
  'unsafe-name',
  'symlink',
  'bomb',
  'multidisk',
  'unsupported',
  'encrypted',
]);

describe('the table of public test archives', () => {
  it('differs from the index only with a remark', () => {
    const silent = archiveCorpora.filter(([, expected, answer, remark]) => {
      const agrees = expected === 'accept' ? answer === 'passes' : toBeStopped.has(expected) && answer !== 'passes';
      return !agrees && remark === undefined;
    });
    expect(silent).toEqual([]);
  });
});

if (folder === undefined || !existsSync(folder)) {
  describe('public test archives', () => {
    it.skip('hold what other readers say [did not run: STICKWRIGHT_CORPORA, set to a folder of public test data]', () => {});
  });
} else {
  const archives = folder;
  describe('public test archives', () => {
    const rows = archiveCorpora.map(([file, expected, answer]) => ({ file, expected, answer }));
    it.each(rows)('$file ($expected): $answer', async ({ file, answer }) => {
      const { stops, findings } = await readWhole(join(archives, file));
      if (answer === 'passes') expect(stops, JSON.stringify(findings)).toEqual([]);
      else expect(stops).toContain(answer);
    });

    it('lists every archive that is there', async () => {
      const there = await readdir(archives, { recursive: true, withFileTypes: true });
      const files = there
        .filter((entry) => entry.isFile() && entry.name !== 'SOURCE.txt')
        .map((entry) => join(entry.parentPath, entry.name).slice(archives.length + 1));
      expect(files.filter((file) => !archiveCorpora.some(([listed]) => listed === file))).toEqual([]);
    });
  });
}
