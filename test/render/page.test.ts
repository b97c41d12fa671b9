import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import wrapAnsi from 'wrap-ansi';
import { paragraph } from '../../src/render/text/page.ts';

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
