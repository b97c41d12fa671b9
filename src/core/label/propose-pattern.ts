import { type Alignment, alignParts, type NamedParts } from './align-parts.ts';

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
