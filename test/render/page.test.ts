import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import wrapAnsi from 'wrap-ansi';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { paragraph } from '../../src/render/text/page.ts';
import { renderError, renderFailure } from '../../src/render/text/render-findings.ts';
import { renderOutcome } from '../../src/render/text/render-report.ts';
import { dayInZone, inZone } from '../../src/render/zone.ts';
import { makeArchive, prepare } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

describe('a paragraph', () => {
  it('is wrapped as wrap-ansi wraps it, whatever the text', () => {
    const word = fc.oneof(
      fc.stringMatching(/^[!#-_a-~]{1,12}$/),
      fc.stringMatching(/^[a-z]{20,60}$/),
      fc.constantFrom('', 'ü', '漢字', 'a\u0301', '—'),
    );
    const text = fc.array(word, { minLength: 1, maxLength: 30 }).map((words) => words.join(' '));
    fc.assert(
      fc.property(text, fc.integer({ min: 20, max: 90 }), (line, columns) => {
        const wrapped = wrapAnsi(line.trimStart(), columns)
          .split('\n')
          .map((part) => part.trimEnd());
        const own = line.length - line.trimStart().length;
        fc.pre(own === 0 && !line.startsWith('--')); // what is to be copied is kept whole
        expect(paragraph(line, 0, { colour: false, columns }).split('\n')).toEqual(wrapped);
      }),
      { numRuns: 500 },
    );
  });
});

describe('what is to be copied', () => {
  const look = { colour: false, columns: 60 };
  const hash = '26eec1ad0384c39f647cd881525cf94740d774e8bdfb50012e712c82c17b848e';
  const command = 'stickwright verify /media/stick --label "K2-second 75/5B" --mode recovery --seal-from desk.pub';

  it('is never broken, however narrow the page: commands, labels, paths, hashes', () => {
    const path = `/media/${'stick-of-quillhaven/'.repeat(4)}x.img`;
    for (const whole of [
      hash,
      path,
      '"K2-second 75/5B"',
      '`stickwright drives --all`',
      'stickwright round record ROOM',
    ]) {
      const said = paragraph(
        `Compare the panel with what is written here, which is ${whole} and nothing else.`,
        8,
        look,
      );
      expect(
        said.split('\n').filter((line) => line.includes(whole)),
        whole,
      ).toHaveLength(1);
    }
    expect(paragraph(`Then:\n  ${command}`, 4, look).split('\n')).toEqual(['    Then:', `      ${command}`]);
  });

  it('leaves every other line within the page', () => {
    const text = 'Read the plate on the panel again and type the model line whole; bezel and box do not count. '.repeat(
      4,
    );
    for (const line of paragraph(text, 8, look).split('\n')) expect(line.length).toBeLessThanOrEqual(60);
  });
});

describe('moments', () => {
  it("are told by the desk's clock with its zone, and not where they are to be copied", () => {
    const said = 'on the shelf since 2026-11-28T18:24:50.067Z. Write it like `2026-09-14T08:00:00Z`.';
    expect(inZone(said, 'Europe/Berlin')).toBe(
      'on the shelf since 2026-11-28 19:24 CET. Write it like `2026-09-14T08:00:00Z`.',
    );
    expect(inZone('2026-07-01T23:30:00+02:00', 'America/New_York')).toBe('2026-07-01 17:30 GMT-4');
    expect(inZone('2026-01-05T00:30:00Z', 'UTC')).toBe('2026-01-05 00:30 UTC');
    expect(dayInZone('2026-11-28T23:30:00Z', 'Europe/Berlin')).toBe('2026-11-29');
    expect(inZone('set-aside-20261125T073000Z', 'Europe/Berlin')).toBe('set-aside-20261125T073000Z');
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
      // It cannot help while somebody else has the stick.
      expect(said).not.toContain('it does the rest');
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });

  it('names the place, once, and ends in a full stop', () => {
    const todo = 'Look at the spelling.';
    const of = (message: string): string =>
      renderFailure({ code: 'stick/not-found', subject: '/media/stick', message, todo }, look);
    expect(of('there is no such drive')).toBe(
      'No answer [stick/not-found]\n  /media/stick: There is no such drive.\n  Look at the spelling.\n',
    );
    expect(of('There is no drive /media/stick.')).toContain('\n  There is no drive /media/stick.\n');
  });

  it('gets no second full stop, and is put together in one place', () => {
    for (const [message, said] of [
      ['the stick is full', 'The stick is full. Make room.'],
      ['The stick is full.', 'The stick is full. Make room.'],
      ['Is it full?', 'Is it full? Make room.'],
      ['it said "No room."', 'It said "No room." Make room.'],
    ] as const)
      expect(renderError({ code: 'stick/full', subject: 'E:', message, todo: 'Make room.' }, look)).toContain(said);
    const joined = readdirSync('src', { recursive: true, encoding: 'utf8' }).filter(
      (name) => name.endsWith('.ts') && /message\} \$\{[^}]*todo/.test(readFileSync(join('src', name), 'utf8')),
    );
    expect(joined).toEqual([]);
  });
});
