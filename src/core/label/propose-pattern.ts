import type { BuildScheme } from '../model/build.ts';

export interface ProposedPattern {
  readonly pattern: string;
  /** Part names in their order. */
  readonly parts: readonly string[];
  /** Parts that some examples do not have: what does their absence mean? */
  readonly optional: readonly string[];
}

export type PatternProposal = ProposedPattern | { readonly pattern: undefined; readonly because: string };

interface PatternWishes {
  /** How builds are written; the part `build` then takes those of the next release too. */
  readonly scheme?: BuildScheme | undefined;
  /** Only the lengths that the examples have. */
  readonly exact?: boolean;
}

/**
 * Proposes a pattern that reads all examples and what is likely to come: parts by the shapes seen, numbers of any
 * length, sizes of two or three digits, versions with more parts; and the text between them as it is.
 */
export function proposePattern(examples: readonly NamedParts[], wishes: PatternWishes = {}): PatternProposal {
  const no = (because: string): PatternProposal => ({ pattern: undefined, because });
  const badName = examples.flatMap(({ parts }) => Object.keys(parts)).find((name) => !/^[A-Za-z]\w*$/.test(name));
  if (badName !== undefined) return no(`"${badName}" cannot name a part: letters, digits and underscores only`);
  const alignments: Alignment[] = [];
  for (const example of examples) {
    const alignment = alignParts(example);
    if (alignment === undefined) return no(notAllIn(example));
    if (alignment.placed.length === 0) return no(`"${example.text}" has no parts`);
    alignments.push(alignment);
    if (commonOrder(alignments) === undefined)
      return no(`the parts of "${example.text}" do not stand in the same order as in the examples before it`);
  }
  const parts = commonOrder(alignments) ?? [];
  const optional = parts.filter((name) => alignments.some(({ placed }) => !placed.some((part) => part.name === name)));
  const body = parts.map((name) => partPattern(name, alignments, optional.includes(name), wishes)).join('');
  const tail = alternatives(alignments.map((alignment) => escapeLiteral(alignment.tail)));
  return { pattern: `^${body}${tail}$`, parts, optional };
}

function notAllIn({ text, parts }: NamedParts): string {
  const upper = text.toUpperCase();
  const gone = Object.entries(parts).filter(([, value]) => !upper.includes(value.toUpperCase()));
  const which = gone.map(([part, value]) => `${part} "${value}"`).join(', ');
  return `the parts of "${text}" are not all in it${which === '' ? ', or one lies over another' : `: ${which}`}`;
}

/** An order that agrees with every example: repeatedly the part that no example has behind another open one. */
function commonOrder(alignments: readonly Alignment[]): readonly string[] | undefined {
  const orders = alignments.map(({ placed }) => placed.map(({ name }) => name));
  const open = new Set(orders.toSorted((a, b) => b.length - a.length).flat());
  const order: string[] = [];
  while (open.size > 0) {
    const next = [...open].find((name) =>
      orders.every((names) => names.filter((other) => open.has(other)).indexOf(name) <= 0),
    );
    if (next === undefined) return undefined;
    order.push(next);
    open.delete(next);
  }
  return order;
}

function partPattern(
  name: string,
  alignments: readonly Alignment[],
  optional: boolean,
  { scheme, exact = false }: PatternWishes,
): string {
  const seen = alignments.flatMap(({ placed, tail }) =>
    placed.flatMap((part, at) => (part.name === name ? [{ ...part, after: textAfter(placed, at, tail) }] : [])),
  );
  const before = alternatives(seen.map((part) => escapeLiteral(part.before)));
  const values = seen.map(({ value }) => value);
  // A number that touches another could take its digits: there only the lengths seen are sure.
  const touches = seen.some((part) => /^\d/.test(part.after) || (part.before === '' && part.afterDigit));
  const kind = exact || touches ? 'exact' : isSize(name, values) ? 'size' : 'open';
  const pattern =
    name === 'build' && scheme !== undefined && kind === 'open' ? buildPattern(values, scheme) : undefined;
  const group = `${before}(?<${name}>${pattern ?? valuePattern(values, kind)})`;
  return optional ? `(?:${group})?` : group;
}

const textAfter = (placed: readonly PlacedPart[], at: number, tail: string): string => {
  const next = placed[at + 1];
  return next === undefined ? tail : next.before + next.value;
};

/** Sizes of panels are inches, in two digits or three; common practice, no source. */
const isSize = (name: string, values: readonly string[]): boolean =>
  /^(size|inch|inches|diagonal)$/i.test(name) && values.every((value) => /^\d{2,3}$/.test(value));

/** Builds of the next releases: more digits in a number, more numbers in a version. Dates keep their lengths. */
function buildPattern(values: readonly string[], scheme: BuildScheme): string | undefined {
  const version = (some: readonly string[]): string =>
    `${some.every((value) => /^v/i.test(value)) ? 'V' : some.some((value) => /^v/i.test(value)) ? 'V?' : ''}\\d+(?:\\.\\d+)*`;
  const isPlain = (text: string): boolean => /^v?\d+(\.\d+)*$/i.test(text);
  switch (scheme) {
    case 'date':
    case 'letters':
      return undefined;
    case 'counter': {
      const prefixes = values.map((value) => value.replace(/\d+$/, ''));
      return `${alternatives(prefixes.map(escapeLiteral))}\\d+`;
    }
    case 'version':
      return values.every(isPlain) ? version(values) : undefined;
    case 'version-date': {
      const split = values.map((value) => /^(.+?)([-_. ])(\d+)$/.exec(value) ?? []);
      if (!split.every(([, first = '']) => isPlain(first))) return undefined;
      const between = alternatives(split.map(([, , one = '']) => escapeLiteral(one)));
      const dates = alternatives(split.map(([, , , date = '']) => `\\d{${date.length}}`));
      return `${version(split.map(([, first = '']) => first))}${between}${dates}`;
    }
  }
}

function alternatives(patterns: readonly string[]): string {
  const distinct = [...new Set(patterns)].toSorted();
  return distinct.length === 1 ? (distinct[0] ?? '') : `(?:${distinct.join('|')})`;
}

export const escapeLiteral = (text: string): string => text.replace(/[\\^$.*+?()[\]{}|]/g, '\\$&');

interface Run {
  readonly kind: 'letters' | 'digits' | 'other';
  readonly text: string;
}

const runsOf = (value: string): readonly Run[] =>
  (value.match(/[A-Za-z]+|\d+|[^A-Za-z\d]/g) ?? []).map((text) => ({
    text,
    kind: /^[A-Za-z]/.test(text) ? 'letters' : /^\d/.test(text) ? 'digits' : 'other',
  }));

/** Values of one shape share a pattern; other shapes stand beside it. A date keeps its length. */
function valuePattern(values: readonly string[], kind: 'open' | 'size' | 'exact'): string {
  if (kind === 'size') return '\\d{2,3}';
  const byShape = new Map<string, (readonly Run[])[]>();
  for (const runs of values.map(runsOf)) {
    const shape = runs.map(({ kind, text }) => (kind === 'other' ? text : kind)).join(' ');
    byShape.set(shape, [...(byShape.get(shape) ?? []), runs]);
  }
  return [...byShape.values()].map((shape) => shapePattern(shape, kind === 'open')).join('|');
}

function shapePattern(values: readonly (readonly Run[])[], open: boolean): string {
  const first = values[0] ?? [];
  return first
    .map(({ kind, text }, at) => {
      if (kind === 'other') return escapeLiteral(text);
      const lengths = values.map((runs) => runs[at]?.text.length ?? 0);
      if (kind === 'digits' && open && Math.max(...lengths) < shortestDate) return '\\d+';
      return (kind === 'letters' ? '[A-Z]' : '\\d') + count(Math.min(...lengths), Math.max(...lengths));
    })
    .join('');
}

const shortestDate = 6;

function count(least: number, most: number): string {
  if (least !== most) return `{${least},${most}}`;
  return least === 1 ? '' : `{${least}}`;
}

/** A text and what its parts are, in the words of who knows the fleet. */
export interface NamedParts {
  readonly text: string;
  readonly parts: Readonly<Record<string, string>>;
}

/** One part in its place: what stands before it, and its value. */
interface PlacedPart {
  readonly name: string;
  readonly before: string;
  readonly value: string;
  /** What stands right before all of it ends with a digit. */
  readonly afterDigit: boolean;
}

interface Alignment {
  readonly placed: readonly PlacedPart[];
  /** What stands after the last part. */
  readonly tail: string;
}

/**
 * Finds where in a text its parts stand: each once, none over another, in whatever order they come. Of several ways the
 * one that leaves the least text between parts is taken, then the leftmost. Undefined where there is none.
 */
export function alignParts({ text, parts }: NamedParts): Alignment | undefined {
  const upper = text.toUpperCase();
  const ways = placements(
    upper,
    Object.entries(parts).filter(([, value]) => value !== ''),
  );
  const best = ways.toSorted((a, b) => gaps(a) - gaps(b) || start(a) - start(b))[0];
  if (best === undefined) return undefined;
  let end = 0;
  const placed = best.map(({ name, from, to }) => {
    const part = {
      name,
      before: text.slice(end, from),
      value: text.slice(from, to),
      afterDigit: /\d/.test(text.charAt(end - 1)),
    };
    end = to;
    return part;
  });
  return { placed, tail: text.slice(end) };
}

interface Place {
  readonly name: string;
  readonly from: number;
  readonly to: number;
}

const mostWays = 5_000;

/** How many stretches of text stand between parts: parts that touch are likelier meant than parts far apart. */
const gaps = (way: readonly Place[]): number =>
  way.filter(({ from }, index) => index > 0 && way[index - 1]?.to !== from).length;

const start = (way: readonly Place[]): number => way.reduce((sum, { from }) => sum + from, 0);

function placements(text: string, parts: readonly (readonly [string, string])[]): readonly (readonly Place[])[] {
  let ways: readonly (readonly Place[])[] = [[]];
  for (const [name, value] of parts) {
    const places = occurrences(text, value.toUpperCase());
    ways = ways
      .flatMap((way) =>
        places
          .filter((from) => way.every((other) => from >= other.to || from + value.length <= other.from))
          .map((from) => [...way, { name, from, to: from + value.length }]),
      )
      .slice(0, mostWays);
  }
  return ways.map((way) => way.toSorted((a, b) => a.from - b.from));
}

function occurrences(text: string, value: string): readonly number[] {
  const found: number[] = [];
  for (let at = text.indexOf(value); at >= 0; at = text.indexOf(value, at + 1)) found.push(at);
  return found;
}
