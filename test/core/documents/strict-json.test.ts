import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ambiguityOf } from '../../../src/core/documents/strict-json.ts';

describe('a document that two readers could take for two things', () => {
  const tags = ['any-machine-checks'] as const;
  const ambiguous: readonly (readonly [string, string])[] = [
    ['{"a":1,"a":1}', 'two members that are called "a"'],
    ['{"a":1,"b":{"c":[{"d":1,"d":2}]}}', 'two members that are called "d"'],
    // RFC 8259 section 8.3: names are compared unescaped.
    ['{"a":1,"\\u0061":2}', 'two members that are called "a"'],
    ['{"__proto__":{}}', '__proto__'],
    ['{"\\u005f_proto__":{}}', '__proto__'],
    ['{"a":"\\ud800"}', 'half a character'],
    ['{"\\udc00":1}', 'half a character'],
    ['{"a":9007199254740993}', '9007199254740993'],
    ['{"a":-9007199254740993}', '-9007199254740993'],
    ['{"a":1e400}', '1e400'],
    ['{"a":0.1000000000000000055}', '0.1000000000000000055'],
    ['{"a":1.0}', '1.0'],
    ['{"a":1e+21}', '1e+21'],
    ['{"a":9007199254740992}', '9007199254740992'],
    [`${'['.repeat(100_000)}${']'.repeat(100_000)}`, 'nested deeper than 32'],
    [`${'{"a":'.repeat(100_000)}1${'}'.repeat(100_000)}`, 'nested deeper than 32'],
  ];
  for (const [text, problem] of ambiguous) {
    test(`${text.slice(0, 40)} is refused, with the reason`, { tags: [...tags] }, () => {
      JSON.parse(text); // which takes it
      expect(ambiguityOf(text)).toContain(problem);
    });
  }

  const nested = (depth: number) => `${'['.repeat(depth)}${']'.repeat(depth)}`;
  const well = [
    '["a","a"]',
    '[{"a":1},{"a":1}]',
    '{"a":["a","a"],"b":"a"}',
    '"a"',
    nested(32),
    '{"a":"\\ud83d\\ude00"}',
  ];
  for (const text of well) {
    test(`${text.slice(0, 40)} is none`, { tags: [...tags] }, () => expect(ambiguityOf(text)).toBeUndefined());
  }

  test('it is told in a line, however long it is', { tags: [...tags] }, () => {
    expect(ambiguityOf(nested(33))).toContain('nested deeper');
    expect(ambiguityOf(`[${'1'.repeat(5_000)}]`)?.length).toBeLessThan(100);
    const name = `"${'a'.repeat(5_000)}"`;
    expect(ambiguityOf(`{${name}:1,${name}:1}`)?.length).toBeLessThan(120);
  });

  const safe = fc.oneof(
    fc.maxSafeInteger(),
    fc.double({ noNaN: true, noDefaultInfinity: true }).filter((one) => !Object.is(one, -0)),
  );
  const name = fc.string({ unit: 'grapheme' }).filter((one) => one !== '__proto__');
  const { json } = fc.letrec<{ json: unknown }>((tie) => ({
    json: fc.oneof(
      { maxDepth: 5 },
      safe.filter((one) => !Number.isInteger(one) || Number.isSafeInteger(one)),
      fc.string({ unit: 'grapheme' }),
      fc.constantFrom(null, true, false),
      fc.array(tie('json'), { maxLength: 5 }),
      fc.dictionary(name, tie('json'), { maxKeys: 5 }),
    ),
  }));

  test('no other is: whatever this tool writes it reads', { tags: [...tags] }, () => {
    fc.assert(
      fc.property(json, fc.constantFrom(0, 2), (value, indent) => {
        expect(ambiguityOf(JSON.stringify(value, null, indent))).toBeUndefined();
      }),
    );
  });

  test('a name is refused the second time wherever it stands', { tags: [...tags] }, () => {
    fc.assert(
      fc.property(
        fc.dictionary(name, json, { minKeys: 1, maxKeys: 6 }),
        fc.nat(),
        fc.nat(),
        json,
        (members, which, where, other) => {
          const pairs = Object.entries(members);
          const again = pairs[which % pairs.length]?.[0] ?? '';
          const all = pairs.toSpliced(where % (pairs.length + 1), 0, [again, other]);
          const text = `{"x":[{${all.map(([key, value]) => `${JSON.stringify(key)}:${JSON.stringify(value)}`).join(',')}}]}`;
          expect(ambiguityOf(text)).toContain('two members');
        },
      ),
    );
  });
});
