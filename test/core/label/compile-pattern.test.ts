import { expect, it } from 'vitest';
import { compilePattern, readWithGrammar } from '../../../src/core/label/read-with-grammar.ts';

// RE2 syntax (https://github.com/google/re2/wiki/Syntax): neither look-around nor back references.
const named = 'A part is named with letters, digits and underscores';
it.each([
  ['ab\\', 'trailing backslash at end of expression', 'Correct the pattern there', 2],
  ['x(?<a>b', 'missing closing ): `x(?<a>b`', 'Correct the pattern there', 0],
  ['a**', 'invalid nested repetition operator: `**`', 'Correct the pattern there', 1],
  ['[b-a]', 'invalid character class range: `b-a`', 'Correct the pattern there', 1],
  ['a(?=b)', '`(?=` looks ahead or behind', 'Match the text itself', 1],
  ['(?i)a(?<!b)', '`(?<!b)` looks ahead or behind', 'Match the text itself', 5],
  ['a\\1', '`\\1` refers back to an earlier group', 'Write the part out again', 1],
  ['[a\\k]', '`\\k` refers back to an earlier group', 'Write the part out again', 2],
  ['x(?P<a b>x)', 'invalid named capture: `(?P<a b>`', named, 1],
  ['x(?<>x)', 'invalid named capture: `(?<>`', named, 1],
  // What is wrong is the name, whatever stands in it.
  ['x(?<k\\k>a)', 'invalid named capture: `(?<k\\k>`', named, 1],
  ['x(?<b(?=c)>x)', 'invalid named capture: `(?<b(?=c)>`', named, 1],
  ['x(?P<(?i)>x)', 'invalid named capture: `(?P<(?i)>`', named, 1],
])('%s is refused where it is wrong', (pattern, what, todo, offset) => {
  const compiled = compilePattern(pattern);
  if (compiled.regexp !== undefined) throw new Error('it compiles');
  expect(compiled.problem).toEqual({
    what: expect.stringContaining(what),
    todo: expect.stringContaining(todo),
    offset,
  });
  expect(compiled.problem.what.startsWith(what)).toBe(true);
  if (todo.startsWith('Correct')) expect(compiled.problem.what).toBe(what);
});

let count = 0;
it('is read the same the first time and ever after, however many others there were between', () => {
  count += 1;
  const read = (pattern: string) => readWithGrammar('X7', { pattern, absent: {} }).parts;
  const grammar = `X(?<n${count}>7)`;
  for (let other = 0; other < 600; other++) {
    if (other % 200 === 0) expect(read(grammar)).toEqual({ [`n${count}`]: '7' });
    expect(read(`X(?<other>${other})`)?.other).toBe(other === 7 ? '7' : undefined);
  }
});
