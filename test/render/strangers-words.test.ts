import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { catalogue, type FindingCode } from '../../src/core/findings/catalogue.ts';
import { textsOf } from '../../src/core/findings/finding.ts';
import { finderNote } from '../../src/core/manifest/record-files.ts';
import { visible } from '../../src/core/text/visible.ts';
import { html } from '../../src/render/html/html.ts';
import { renderFindings } from '../../src/render/text/render-findings.ts';
import { anyFacts } from '../fixtures/any-facts.ts';

/** What draws a line of its own, steers a terminal, or turns what stands beside it. */
const steering = '\n\r\t\v\f\0\u001b\u009b\u0085\u2028\u2029\u202e\u2066\u200f\u061c\ufeff\ud800'.split('');
const hostile = fc
  .array(fc.oneof(fc.constantFrom(...steering), fc.constantFrom('READY', ': nothing in the way.', '[2J', ' ', 'ä')), {
    minLength: 1,
    maxLength: 8,
  })
  .map((parts) => parts.join(''));
const worst = 'X\nREADY: nothing in the way.\r\nREADY\u2028READY\u0085READY\u202eREADY\u001b[2J\u001b[HREADY';

const forbidden =
  /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]|^READY/mu;

describe('words of strangers on a terminal', () => {
  /** What a report is made of, whose every other text is a stranger's. No colour, and not ready. */
  const known = {
    colour: false,
    columns: 80,
    code: 'verify/override',
    verdict: 'unproven',
    kind: 'folder',
    mode: 'recovery',
    severity: 'stop',
    state: 'failed',
    conclusion: 'retire',
    progress: 'failed',
    outcome: 'failed',
    order: 'newer',
    added: 1,
  };
  /** Where one word means another thing. */
  const wordsOf: Readonly<Record<string, Readonly<Record<string, unknown>>>> = {
    renderCleared: { state: 'cleared' },
    renderDesk: { state: 'broken' },
    renderEject: { state: 'not-yet' },
    renderLadder: { state: 'next' },
    renderRoundLadder: { state: 'next' },
    renderRoundRecord: { state: 'next' },
  };
  const look = { colour: false, columns: 80 };
  const folder = 'src/render/text';
  /** A code is one of ours. */
  const ours = new Set(['renderExplanation', 'renderErrorMeaning']);

  test('draw no line and no verdict, whichever renderer shows them', async () => {
    const rendered: string[] = [];
    for (const file of readdirSync(folder)) {
      const module = (await import(join(process.cwd(), folder, file))) as Record<string, unknown>;
      for (const [name, render] of Object.entries(module)) {
        if (typeof render !== 'function' || !name.startsWith('render') || ours.has(name)) continue;
        const words = { ...known, ...wordsOf[name] };
        const args = Array.from({ length: Math.max(2, render.length) }, () => anyFacts(worst, words));
        const page = render(...args) as string | Iterable<string>;
        expect(typeof page === 'string' ? page : [...page].join(''), `${file}, ${name}`).not.toMatch(forbidden);
        rendered.push(name);
      }
    }
    expect(rendered.length).toBeGreaterThan(40);
  });

  test('draw no line in the words of any finding', () => {
    for (const code of Object.keys(catalogue) as FindingCode[]) {
      const found = { code, subject: worst, facts: anyFacts(worst), acceptedBecause: worst };
      expect(renderFindings([found], look), code).not.toMatch(forbidden);
    }
  });

  test('are one line without a mark that steers, whatever they are', () => {
    fc.assert(
      fc.property(hostile, (text) => {
        expect(visible(text)).not.toMatch(
          /[\n\r\t\u0000\u001b\u009b\u0085\u061c\u200f\u2028\u2029\u202e\u2066\ufeff]|\p{Cs}/u,
        );
      }),
    );
  });
});

describe('words of strangers elsewhere', () => {
  test('go through the same place in every question and every line that cli itself writes', () => {
    /** Words and numbers of our own. */
    const own =
      /factsOf\(room\)|usual === undefined|enough \?|`\$\{family\} panels`|what\[field\]|\\x1b\[|lines\.map|visibleLines\(/;
    const files = readdirSync('src/cli', { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
    const found = files.flatMap((name) =>
      readFileSync(join('src/cli', name), 'utf8')
        .split('\n')
        .filter(
          (line) =>
            /((?:write|aside)\(|message: |message = |name: `).*\$\{/.test(line) &&
            !/tame\(|visible\(line\)/.test(line) &&
            !own.test(line),
        )
        .map((line) => `${name}: ${line.trim()}`),
    );
    expect(files.length).toBeGreaterThan(30);
    expect(found).toEqual([]);
  });

  test('keep plain data plain: a fact has no line break of its own', () => {
    fc.assert(
      fc.property(hostile, (text) => {
        const { seen } = textsOf({ code: 'verify/override', subject: text, facts: { code: text, because: text } });
        expect(seen).not.toMatch(/[\n\r\u001b\u2028\u2029\u202e]/);
      }),
    );
  });

  test('turn nothing on a page and end no element', () => {
    fc.assert(
      fc.property(hostile, fc.string(), (text, other) => {
        const page = html`<p title="${text}${other}">${text}${other}</p>`.markup;
        expect(page).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u200e\u200f\u2028-\u202e\u2066-\u2069]/);
        expect(page.match(/[<>"]/g)).toHaveLength(6);
      }),
    );
  });

  test('draw no line in the note on the stick', () => {
    const noteOf = (text: string): string =>
      finderNote({
        stick: text,
        label: { text, normalised: text, parts: null },
        mode: 'recovery',
        keepsData: false,
        preparedAt: text,
        archive: { name: text, bytes: 1, sha256: '', directorySha256: '', build: text, parts: null, agree: [] },
      });
    const lines = noteOf('plain').split('\r\n').length;
    expect(lines).toBeGreaterThan(25);
    fc.assert(
      fc.property(hostile, (text) => {
        const note = noteOf(text);
        expect(note.split('\r\n')).toHaveLength(lines);
        expect(note.replaceAll('\r\n', '')).not.toMatch(forbidden);
      }),
    );
  });
});
