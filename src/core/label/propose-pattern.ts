export interface ProposedPattern {
  readonly pattern: string;
  /** Part names in their order. */
  readonly parts: readonly string[];
  /** Parts that some examples do not have: what does their absence mean? */
  readonly optional: readonly string[];
}

export type PatternProposal = ProposedPattern | { readonly pattern: undefined; readonly because: string };

/** Proposes a pattern that reads all examples: parts by the shapes seen, and the text between them as it is. */
export function proposePattern(examples: readonly NamedParts[]): PatternProposal {
  const no = (because: string): PatternProposal => ({ pattern: undefined, because });
  const badName = examples.flatMap(({ parts }) => Object.keys(parts)).find((name) => !/^[A-Za-z]\w*$/.test(name));
  if (badName !== undefined) return no(`"${badName}" cannot name a part: letters, digits and underscores only`);
  const alignments: Alignment[] = [];
  for (const example of examples) {
    const alignment = alignParts(example);
    if (alignment === undefined) return no(`the parts of "${example.text}" are not all in it`);
    if (alignment.placed.length === 0) return no(`"${example.text}" has no parts`);
    alignments.push(alignment);
  }
  const parts = commonOrder(alignments);
  if (parts === undefined) return no('the parts do not stand in the same order in all examples');
  const optional = parts.filter((name) => alignments.some(({ placed }) => !placed.some((part) => part.name === name)));
  const body = parts.map((name) => partPattern(name, alignments, optional.includes(name))).join('');
  const tail = alternatives(alignments.map((alignment) => escapeLiteral(alignment.tail)));
  return { pattern: `^${body}${tail}$`, parts, optional };
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

function partPattern(name: string, alignments: readonly Alignment[], optional: boolean): string {
  const seen = alignments.flatMap(({ placed }) => placed.filter((part) => part.name === name));
  const before = alternatives(seen.map((part) => escapeLiteral(part.before)));
  const group = `${before}(?<${name}>${valuePattern(seen.map(({ value }) => value))})`;
  return optional ? `(?:${group})?` : group;
}

function alternatives(patterns: readonly string[]): string {
  const distinct = [...new Set(patterns)].toSorted();
  return distinct.length === 1 ? (distinct[0] ?? '') : `(?:${distinct.join('|')})`;
}

const escapeLiteral = (text: string): string => text.replace(/[\\^$.*+?()[\]{}|]/g, '\\$&');

interface Run {
  readonly kind: 'letters' | 'digits' | 'other';
  readonly text: string;
}

const runsOf = (value: string): readonly Run[] =>
  (value.match(/[A-Za-z]+|\d+|[^A-Za-z\d]/g) ?? []).map((text) => ({
    text,
    kind: /^[A-Za-z]/.test(text) ? 'letters' : /^\d/.test(text) ? 'digits' : 'other',
  }));

/** Values of one shape share a pattern with the lengths seen; other shapes stand beside it. */
function valuePattern(values: readonly string[]): string {
  const byShape = new Map<string, (readonly Run[])[]>();
  for (const runs of values.map(runsOf)) {
    const shape = runs.map(({ kind, text }) => (kind === 'other' ? text : kind)).join(' ');
    byShape.set(shape, [...(byShape.get(shape) ?? []), runs]);
  }
  return [...byShape.values()].map(shapePattern).join('|');
}

function shapePattern(values: readonly (readonly Run[])[]): string {
  const first = values[0] ?? [];
  return first
    .map(({ kind, text }, at) => {
      if (kind === 'other') return escapeLiteral(text);
      const lengths = values.map((runs) => runs[at]?.text.length ?? 0);
      return (kind === 'letters' ? '[A-Z]' : '\\d') + count(Math.min(...lengths), Math.max(...lengths));
    })
    .join('');
}

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
    const part = { name, before: text.slice(end, from), value: text.slice(from, to) };
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
