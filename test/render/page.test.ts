import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import wrapAnsi from 'wrap-ansi';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { paragraph } from '../../src/render/text/page.ts';
import { renderError } from '../../src/render/text/render-findings.ts';
import { renderOutcome } from '../../src/render/text/render-report.ts';
import { makeArchive, prepare } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

describe('a paragraph', () => {
  it('is wrapped as wrap-ansi wraps it, whatever the text', () => {
    const word = fc.oneof(
      fc.stringMatching(/^[!-~]{1,12}$/),
      fc.stringMatching(/^[a-z]{20,60}$/),
      fc.constantFrom('', 'ü', '漢字', 'a\u0301', '—'),
    );
    const text = fc.array(word, { minLength: 1, maxLength: 30 }).map((words) => words.join(' '));
    fc.assert(
      fc.property(text, fc.integer({ min: 20, max: 90 }), (line, columns) => {
        const wrapped = wrapAnsi(line.trimStart(), columns, { hard: true })
          .split('\n')
          .map((part) => part.trimEnd());
        const own = line.length - line.trimStart().length;
        fc.pre(own === 0);
        expect(paragraph(line, 0, { colour: false, columns }).split('\n')).toEqual(wrapped);
      }),
      { numRuns: 500 },
    );
  });
});

describe('what kept one stick from its answer', () => {
  const look = { colour: false, columns: 120 };

  it('is said in whole sentences: what happened, and what to do', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'stickwright sentences-'));
    try {
      const shape = { kind: 'fat32', clusterBytes: 512, partitioned: true } as const;
      const target = await makeFatImage(join(folder, 'stick.img'), 64 * 2 ** 20, shape);
      const holder = await openVolume(target, 'write');
      const { report } = await prepare({ archivePath: await makeArchive(folder), targets: [target] });
      await holder.close();
      expect(report.sticks[0]?.error?.code).toBe('stick/in-use');
      const said = renderOutcome(report, new Set(), look).replace(/\s+/g, ' ');
      expect(said).toMatch(/is using this stick.*?\. Wait until it has finished/);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });

  it('gets no second full stop, and is put together in one place', () => {
    for (const [message, said] of [
      ['the stick is full', 'the stick is full. Make room.'],
      ['The stick is full.', 'The stick is full. Make room.'],
      ['Is it full?', 'Is it full? Make room.'],
      ['it said "No room."', 'it said "No room." Make room.'],
    ] as const)
      expect(renderError({ code: 'stick/full', subject: 'E:', message, todo: 'Make room.' }, look)).toContain(said);
    const joined = readdirSync('src', { recursive: true, encoding: 'utf8' }).filter(
      (name) => name.endsWith('.ts') && /message\} \$\{[^}]*todo/.test(readFileSync(join('src', name), 'utf8')),
    );
    expect(joined).toEqual([]);
  });
});
