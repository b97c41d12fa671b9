import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { catalogue, type FindingCode } from '../../../src/core/findings/catalogue.ts';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { judgeDesk } from '../../../src/core/guide/judge-desk.ts';
import { inWindow } from '../../../src/core/text/in-window.ts';
import { lookAtDesk } from '../../../src/io/files/look-at-desk.ts';
import { anyFacts } from '../../fixtures/any-facts.ts';

/** An option or a command that somebody would have to type. */
const typed = /(?<![\w-])--[a-z]|\bstickwright [a-z]|same command/;

/**
 * Without what is no command, and what is to be copied whole where the window has no way: how a desk is opened, and a
 * word for the slip's own command.
 */
const withoutCopied = (text: string): string =>
  text.replace(/`(?:stickwright desk [^`]*|--yes)`|(?:version of|kept by) stickwright/g, '');

/** What no window shows, or has no button for: there the command stays. */
const left = [
  // Answers of commands alone: shelf export, round cards, a plan's file, an image, a family's folder.
  'Move that file away, or name another folder with --to.',
  'It was left as it is. Move it away, or name another folder with --out.',
  'Choose another name, or add --overwrite if it may be replaced. Never name the list itself: it is its owner’s.',
  'Look at the sheet Sticks, or give --size to make a new image file.',
  'Name another folder with --to.',
  // A package that is too large for what the system keeps for the moment.
  'Nothing of it was kept. Free some space there, or put the package on the shelf instead; the command stickwright inspect reads it where it lies.',
  'Name the file of one: --family x.',
];

/** Every sentence that stands in the sources of findings and of errors; what is put into it is an x. */
function sentencesIn(folder: string): readonly string[] {
  const names = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
  return names.flatMap((name) => {
    const source = readFileSync(join(folder, name), 'utf8');
    if (!typed.test(source)) return [];
    const file = ts.createSourceFile(name, source, ts.ScriptTarget.Latest, true);
    const found: string[] = [];
    const visit = (node: ts.Node): void => {
      if (ts.isStringLiteralLike(node)) found.push(node.text);
      if (ts.isTemplateExpression(node))
        found.push(`${node.head.text}${node.templateSpans.map(({ literal }) => `x${literal.text}`).join('')}`);
      node.forEachChild(visit);
    };
    visit(file);
    return found.filter((text) => / .*\.$/s.test(text));
  });
}

/** Everything that is said of a desk that lacks all it needs, or can use none of it. */
async function saidOfDesks(): Promise<readonly string[]> {
  const things = await lookAtDesk();
  return (['missing', 'broken'] as const).flatMap((state) =>
    ['linux', 'win32'].flatMap((platform) =>
      judgeDesk(
        things.map(({ name }) => ({ name, state, detail: '' })),
        platform,
      ).flatMap(({ todo }) => todo || []),
    ),
  );
}

describe('what a person at the window reads', () => {
  it('says what to press, whatever the finding', () => {
    const shown = ['xls', 'archive'].flatMap((kind) =>
      (Object.keys(catalogue) as FindingCode[]).flatMap((code) => {
        const facts = anyFacts('x', { kind, mangling: 'hashes', mode: 'recovery', cut: 'entry', by: 'drive' });
        const { seen, todo } = textsOf({ code, subject: 'x', facts });
        return [inWindow(seen), inWindow(todo)];
      }),
    );
    expect(shown.filter((text) => !left.includes(text) && typed.test(withoutCopied(text)))).toEqual([]);
  });

  it('says so in every sentence of the sources of findings and errors, and of what a desk lacks', async () => {
    const ofDesks = await saidOfDesks();
    expect(ofDesks.length).toBeGreaterThan(20);
    const all = [...['src/core/findings/catalogue', 'src/io', 'src/workflows'].flatMap(sentencesIn), ...ofDesks];
    expect(all.filter((text) => typed.test(text)).length).toBeGreaterThan(150);
    const stays = [...new Set(all.map(inWindow).filter((text) => typed.test(withoutCopied(text))))];
    expect(stays.toSorted()).toEqual(left.toSorted());
    for (const text of all)
      if (inWindow(text) !== text)
        expect(inWindow(text)).not.toMatch(/\w {2}\w|\( |: (?:on|in) the leaf|\w[Tt]he sheet/);
  });

  it.each([
    [
      'Look at the list. Run it again with --leftovers set-aside to move these into a dated folder on the stick, or with --leftovers remove to delete them.',
      'Look at the list. Choose below what shall become of them, then look again what would be written.',
    ],
    [
      'If it names this label, go on with --accept fit/tokens-missing-before-wipe --because and the words.',
      'If it names this label, accept it below, with the words.',
    ],
    [
      'If the panel was exchanged, record it with --accept record/serial-differs --because "exchanged".',
      'If the panel was exchanged, note it all the same, because exchanged.',
    ],
    [
      'If it comes back, format it with `stickwright format`, which erases it.',
      'If it comes back, format it with “Format” on the sheet Sticks, which erases it.',
    ],
    ['Run the same command again: it goes on.', 'Try it here once more: it goes on.'],
    ['`stickwright drives` lists what is plugged in.', 'The sheet Sticks shows what is plugged in.'],
    [
      'Set it right, or take it back: stickwright settings set NAME VALUE, stickwright settings unset NAME.',
      'Set it right, or take it back on the sheet Desk.',
    ],
    [
      'No label can be read. stickwright guide makes a family on the way; a colleague’s file: stickwright family add FILE.',
      'No label can be read. The slip makes a family on the way; a colleague’s file: drop it on the sheet Families.',
    ],
    ['Nothing to do.', 'Nothing to do.'],
  ])('%s', (text, pressed) => expect(inWindow(text)).toBe(pressed));
});
