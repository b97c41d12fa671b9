/**
 * No document of this tool is nested deeper than ten levels; readers that go down by recursion stay far from their end.
 */
const deepest = 32;

const loneSurrogate = /[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/;
const number = /-?\d[\d.eE+-]*/y;

/**
 * What is wrong with a text that `JSON.parse` took, in a way that it passes over, so that two readers could take it for
 * two things (RFC 8259 section 4 on names that stand twice; RFC 7493, I-JSON, sections 2.1 to 2.3). Undefined where it
 * is well.
 */
export function ambiguityOf(text: string): string | undefined {
  /** For every open object its names so far; undefined for a list, whose strings are no names. */
  const open: (Set<string> | undefined)[] = [];
  let isName = true;
  for (let at = 0; at < text.length; at++) {
    const char = text[at] as string;
    if (char === '{' || char === '[') {
      if (open.push(char === '{' ? new Set() : undefined) > deepest)
        return `it is nested deeper than ${deepest} levels`;
      isName = true;
    } else if (char === '}' || char === ']') open.pop();
    else if (char === ',') isName = true;
    else if (char === ':') isName = false;
    else if (char === '"') {
      const end = endOfString(text, at);
      const problem = problemOfString(text.slice(at, end), isName ? open.at(-1) : undefined);
      if (problem !== undefined) return problem;
      at = end - 1;
    } else if (char === '-' || (char >= '0' && char <= '9')) {
      number.lastIndex = at;
      const [digits = char] = number.exec(text) ?? [];
      if (!isExact(digits)) return `it holds the number ${digits.slice(0, 40)}, which not every reader keeps`;
      at += digits.length - 1;
    }
  }
  return undefined;
}

/** One past the closing quotation mark. */
function endOfString(text: string, start: number): number {
  for (let at = start + 1; ; at++) {
    const char = text[at];
    if (char === '"' || char === undefined) return at + 1;
    if (char === '\\') at++;
  }
}

/** `names` is given where the string is the name of a member. */
function problemOfString(quoted: string, names: Set<string> | undefined): string | undefined {
  const value = quoted.includes('\\u') || names !== undefined ? (JSON.parse(quoted) as string) : quoted;
  if (loneSurrogate.test(value)) return 'it holds half a character';
  if (names === undefined) return undefined;
  if (value === '__proto__') return 'it has a member that is called __proto__';
  if (names.has(value)) return `it has two members that are called ${JSON.stringify(value.slice(0, 60))}`;
  names.add(value);
  return undefined;
}

/** It comes back as it stands: no more digits than a double holds (RFC 7493 section 2.2). */
function isExact(digits: string): boolean {
  const value = Number(digits);
  if (Number.isInteger(value)) return Number.isSafeInteger(value) && /^-?\d+$/.test(digits);
  return Number.isFinite(value) && String(value) === digits;
}
