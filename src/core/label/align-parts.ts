/** A text and what its parts are, in the words of who knows the fleet. */
export interface NamedParts {
  readonly text: string;
  readonly parts: Readonly<Record<string, string>>;
}

/** One part in its place: what stands before it, and its value. */
export interface PlacedPart {
  readonly name: string;
  readonly before: string;
  readonly value: string;
}

export interface Alignment {
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
