import * as z from 'zod';
import type { Sha256 } from '../../documents/own-digest.ts';
import { ambiguityOf } from '../../documents/strict-json.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import {
  parseRecordLine,
  type RoundRecordWithoutDigest,
  roundRecordWithDigest,
  serialiseRoundRecord,
} from '../records/own-digests.ts';
import type { KnownPocket } from './make-pocket.ts';
import { codeOf, type Hmac, type PocketEnd, type PocketLine, pocketLineStart } from './pocket-lines.ts';
import { type Packing, type PartReading, readParts } from './pocket-parts.ts';

/** As the folder of the round keeps it. */
export const knownPocketSchema = z.strictObject({
  schema: z.literal('stickwright/known-pocket/1'),
  id: z.string().regex(/^[A-Z0-9]{6,20}$/),
  secret: z.string().regex(/^[0-9a-f]{64}$/),
  who: z.string().min(1),
  madeAt: z.iso.datetime({ offset: true }),
});

const code = z.string().regex(/^[0-9a-f]{32}$/);

/** Three million bytes; the phone makes them of some hundred thousand. */
const mostPhotoDigits = 4_000_000;

const lineSchema = z.discriminatedUnion('schema', [
  z.strictObject({
    schema: z.literal('stickwright/pocket-line/1'),
    pocket: z.string(),
    number: z.number().int().positive(),
    previous: code.nullable(),
    record: z.record(z.string(), z.unknown()),
    code,
  }),
  z.strictObject({
    schema: z.literal('stickwright/pocket-photo/1'),
    pocket: z.string(),
    record: z.uuid(),
    jpeg: z.base64().max(mostPhotoDigits),
    code,
  }),
  z.strictObject({
    schema: z.literal('stickwright/pocket-end/1'),
    pocket: z.string(),
    lines: z.number().int().nonnegative(),
    last: code.nullable(),
    code,
  }),
]);

/** Something of what came back from a phone that does not count, or is not there. */
export type PocketFlaw =
  /** Cut off, or something in it got lost. */
  | { readonly kind: 'torn'; readonly where: string }
  /** It is whole, and what it says is not what the phone wrote. */
  | { readonly kind: 'edited'; readonly where: string }
  /** Of a file that this round does not know. */
  | { readonly kind: 'foreign'; readonly where: string; readonly pocket: string }
  /** Entries of a known file that did not come along: FIRST to LAST, or from FIRST on where LAST is not known. */
  | { readonly kind: 'missing'; readonly where: string; readonly first: number; readonly last: number | undefined }
  /** Parts of a series that are not there, by their numbers. */
  | { readonly kind: 'part-missing'; readonly numbers: readonly number[]; readonly of: number };

export interface PocketReading {
  /** Of whole lines of known files; each once. */
  readonly records: readonly RoundRecord[];
  /** The files that they are of, with how many lines each. */
  readonly pockets: readonly { readonly pocket: KnownPocket; readonly lines: number }[];
  /** Photos of known files, in base64, with the ids of the records that they belong to. */
  readonly photos: readonly { readonly record: string; readonly jpeg: string }[];
  readonly flaws: readonly PocketFlaw[];
}

export interface PocketTools extends Packing {
  readonly sha256: Sha256;
  readonly hmac: Hmac;
}

/** Whether a text can be anything that came back from a phone. */
export const isOfPocket = (text: string): boolean => text.includes(pocketLineStart) || /SWP1\//.test(text);

/** Everything that came back from phones in a text: lines of a file, parts of a text or of codes, in any order. */
export function readPocketText(text: string, known: readonly KnownPocket[], tools: PocketTools): PocketReading {
  const { lines, rest } = takeApart(text);
  const parts = readParts(rest, tools);
  const written = [
    ...lines.map((line) => ({ line, where: placeIn(text, line) })),
    ...parts.flatMap((part) =>
      part.state === 'torn' ? [] : part.lines.map((line) => ({ line, where: `part ${part.number} of ${part.of}` })),
    ),
  ];
  const judged = written.map(({ line, where }) => ({ ...judgeLine(line, known, tools), where }));
  const flaws: PocketFlaw[] = [
    ...parts.flatMap((part) => (part.state === 'torn' ? [{ kind: 'torn', where: part.where } as const] : [])),
    ...judged.flatMap((one) => ('flaw' in one ? [{ ...one.flaw, where: one.where }] : [])),
    ...missingParts(parts),
  ];
  const good = judged.flatMap((one) => ('entry' in one ? [one.entry] : []));
  const photos = judged.flatMap((one) => ('photo' in one ? [one.photo] : []));
  const ends = judged.flatMap((one) => ('end' in one ? [one.end] : []));
  const pockets = known.flatMap((pocket) => {
    const own = new Map(good.filter(({ line }) => line.pocket === pocket.id).map((one) => [one.line.code, one.line]));
    const last = ends.filter((end) => end.pocket === pocket.id);
    if (own.size === 0 && last.length === 0) return [];
    flaws.push(...missingLines([...own.values()], last, { hasEnd: parts.length === 0 }));
    return own.size === 0 ? [] : [{ pocket, lines: own.size }];
  });
  const records = new Map(good.map(({ record }) => [record.selfSha256, record]));
  return { records: [...records.values()], pockets, photos, flaws };
}

/**
 * Lines of a file, and all else, in which parts may stand; words for a person are neither. A whole line that follows a
 * torn one is found too.
 */
function takeApart(text: string): { readonly lines: readonly string[]; readonly rest: string } {
  const rows = text
    .replaceAll(pocketLineStart, `\n${pocketLineStart}`)
    .split(/\r\n|\n|\r/)
    .map((row) => row.replace(/^\uFEFF|^[\s>|]+|\s+$/g, ''))
    .filter((row) => !row.startsWith('#'));
  const isLine = (row: string): boolean => /stickwright\/pocket-|"code":|"previous":|"selfSha256":/.test(row);
  return { lines: rows.filter(isLine), rest: rows.filter((row) => !isLine(row)).join('\n') };
}

function placeIn(text: string, line: string): string {
  const at = text.indexOf(line);
  return at === -1 ? 'a line' : `line ${text.slice(0, at).split(/\r\n|\n|\r/).length}`;
}

type Judged =
  | { readonly entry: { readonly line: PocketLine; readonly record: RoundRecord } }
  | { readonly end: PocketEnd }
  | { readonly photo: { readonly record: string; readonly jpeg: string } }
  | { readonly flaw: { readonly kind: 'torn' | 'edited' } | { readonly kind: 'foreign'; readonly pocket: string } };

/** Sticks are prepared, looked at and approved of at the desk. */
const ofPhones: ReadonlySet<string> = new Set<RoundRecord['kind']>(['visit', 'looked', 'withdrawn']);

function judgeLine(text: string, known: readonly KnownPocket[], { sha256, hmac }: PocketTools): Judged {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return { flaw: { kind: 'torn' } };
  }
  const parsed = lineSchema.safeParse(json);
  if (!parsed.success || ambiguityOf(text) !== undefined) return { flaw: { kind: 'edited' } };
  const line = parsed.data;
  const pocket = known.find(({ id }) => id === line.pocket);
  if (pocket === undefined) return { flaw: { kind: 'foreign', pocket: line.pocket } };
  if (codeOf(line as never, pocket.secret, hmac) !== line.code) return { flaw: { kind: 'edited' } };
  if (line.schema === 'stickwright/pocket-end/1') return { end: line };
  // FF D8 FF: how every JPEG begins (ITU-T T.81, B.1.1.3).
  if (line.schema === 'stickwright/pocket-photo/1')
    return line.jpeg.startsWith('/9j/') ? { photo: line } : { flaw: { kind: 'edited' } };
  const record = roundRecordWithDigest(line.record as unknown as RoundRecordWithoutDigest, sha256);
  // The code is right, so somebody with the file wrote it; that it is what a phone writes is another question.
  const reading = parseRecordLine(serialiseRoundRecord(record), sha256);
  if (reading.state !== 'whole' || !ofPhones.has(reading.document.kind)) return { flaw: { kind: 'edited' } };
  return {
    entry: { line: { ...line, record: line.record as unknown as RoundRecordWithoutDigest }, record: reading.document },
  };
}

/** Numbers of parts that a series wants and that are not there. */
function missingParts(parts: readonly PartReading[]): readonly PocketFlaw[] {
  const whole = parts.filter((part) => part.state === 'whole');
  return [...new Set(whole.map(({ set }) => set))].flatMap((set) => {
    const own = whole.filter((part) => part.set === set);
    const of = own[0]?.of ?? 0;
    const numbers = Array.from({ length: of }, (_, index) => index + 1).filter(
      (number) => !own.some((part) => part.number === number),
    );
    return numbers.length === 0 ? [] : [{ kind: 'part-missing', numbers, of } as const];
  });
}

/** What the chain shows as lost: a line whose one before is not here, and an end that counts more than there are. */
function missingLines(
  lines: readonly PocketLine[],
  ends: readonly PocketEnd[],
  { hasEnd }: { readonly hasEnd: boolean },
): readonly PocketFlaw[] {
  const codes = new Set(lines.map(({ code: one }) => one));
  const numbers = lines.map(({ number }) => number).toSorted((a, b) => a - b);
  const gaps = lines.flatMap(({ previous, number }): PocketFlaw[] => {
    if (previous === null || codes.has(previous)) return [];
    const before = numbers.findLast((one) => one < number - 1) ?? 0;
    return [{ kind: 'missing', where: `line ${number}`, first: Math.min(before + 1, number - 1), last: number - 1 }];
  });
  const lost = ends.flatMap(({ last, lines: count }): PocketFlaw[] => {
    if (last === null) return [];
    const isCut = !codes.has(last);
    // Two tabs that wrote at one moment made two lines with one number: only the count tells that one is not here.
    if (!isCut && (codes.size >= count || gaps.length > 0)) return [];
    const after = isCut ? (numbers.at(-1) ?? 0) : codes.size;
    return [{ kind: 'missing', where: 'the end', first: Math.min(after + 1, count), last: count }];
  });
  // A file ends with how many there were; parts count themselves.
  const cut: readonly PocketFlaw[] =
    hasEnd && ends.length === 0
      ? [{ kind: 'missing', where: 'the end', first: (numbers.at(-1) ?? 0) + 1, last: undefined }]
      : [];
  return [...gaps, ...lost, ...cut];
}

/** What a person should know of what came back FROM a phone. */
export const checkPocketReading = (from: string, { pockets, photos, flaws }: PocketReading): readonly Finding[] => [
  ...pockets.map(({ pocket, lines }) =>
    finding('pocket/taken', from, { pocket: pocket.id, who: pocket.who, madeAt: pocket.madeAt, lines }),
  ),
  ...(photos.length > 0 ? [finding('pocket/photos', from, { count: photos.length })] : []),
  ...flaws.map((flaw) => ofFlaw(flaw, from)),
];

function ofFlaw(flaw: PocketFlaw, from: string): Finding {
  switch (flaw.kind) {
    case 'torn':
      return finding('pocket/torn-line', from, { where: flaw.where });
    case 'edited':
      return finding('pocket/edited-line', from, { where: flaw.where });
    case 'foreign':
      return finding('pocket/foreign-line', from, { where: flaw.where, pocket: flaw.pocket });
    case 'missing':
      return finding('pocket/missing-lines', from, { first: flaw.first, last: flaw.last ?? null });
    case 'part-missing':
      return finding('pocket/missing-parts', from, { numbers: flaw.numbers, of: flaw.of });
  }
}
