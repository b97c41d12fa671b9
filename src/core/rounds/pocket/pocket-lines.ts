import { canonicalForm } from '../../documents/own-digest.ts';
import type { RoundRecordWithoutDigest } from '../records/own-digests.ts';

/** HMAC-SHA-256 (RFC 2104) of a text's UTF-8 bytes under a secret in hex, in lower hex. */
export type Hmac = (secret: string, text: string) => string;

/** One entry of the phone: a record of the round, its place among the entries of its file, and proof of both. */
export interface PocketLine {
  readonly schema: 'stickwright/pocket-line/1';
  /** Id of the file that it was made in. */
  readonly pocket: string;
  /** From 1. */
  readonly number: number;
  /** Code of the line before; null for the first. */
  readonly previous: string | null;
  readonly record: RoundRecordWithoutDigest;
  readonly code: string;
}

/** How many lines there were when they were given out, so that a missing end is missed. */
export interface PocketEnd {
  readonly schema: 'stickwright/pocket-end/1';
  readonly pocket: string;
  readonly lines: number;
  readonly last: string | null;
  readonly code: string;
}

/** A picture of what stood on the screen. It leaves with the file only: text and codes are too short for it. */
export interface PocketPhoto {
  readonly schema: 'stickwright/pocket-photo/1';
  readonly pocket: string;
  /** Id of the record that it belongs to. */
  readonly record: string;
  /** Base64 (RFC 4648, section 4). */
  readonly jpeg: string;
  readonly code: string;
}

/** The first half of the HMAC, as RFC 2104, section 5, allows: codes on a screen are short. */
const codeDigits = 32;

type WithoutCode = Omit<PocketLine, 'code'> | Omit<PocketEnd, 'code'> | Omit<PocketPhoto, 'code'>;

/** What proves that a line is of the file with this secret and was not changed: over its RFC 8785 form. */
export const codeOf = (line: WithoutCode, secret: string, hmac: Hmac): string =>
  hmac(secret, canonicalForm({ ...line, code: undefined })).slice(0, codeDigits);

/** The line that comes after BEFORE, which may be empty. */
export function nextLine(
  record: RoundRecordWithoutDigest,
  before: readonly PocketLine[],
  { id, secret }: { readonly id: string; readonly secret: string },
  hmac: Hmac,
): PocketLine {
  const last = before.at(-1);
  const line = {
    schema: 'stickwright/pocket-line/1',
    pocket: id,
    number: (last?.number ?? 0) + 1,
    previous: last?.code ?? null,
    record,
  } as const;
  return { ...line, code: codeOf(line, secret, hmac) };
}

/** How every line and end begins; it stands nowhere else (in JSON strings a quotation mark is escaped). */
export const pocketLineStart = '{"schema":"stickwright/pocket-';

export const serialiseLine = (line: PocketLine | PocketEnd | PocketPhoto): string => JSON.stringify(line);

/** All lines as a file: words for a person, a line each, photos by the ids of their records, how many there were. */
export function writePocketFile(
  words: readonly string[],
  lines: readonly PocketLine[],
  { id, secret }: { readonly id: string; readonly secret: string },
  hmac: Hmac,
  photos: ReadonlyMap<string, string> = new Map(),
): string {
  const pictures = [...photos].map(([record, jpeg]): PocketPhoto => {
    const photo = { schema: 'stickwright/pocket-photo/1', pocket: id, record, jpeg } as const;
    return { ...photo, code: codeOf(photo, secret, hmac) };
  });
  const end = {
    schema: 'stickwright/pocket-end/1',
    pocket: id,
    lines: lines.length,
    last: lines.at(-1)?.code ?? null,
  } as const;
  const all = [...lines, ...pictures, { ...end, code: codeOf(end, secret, hmac) }];
  // A person's words never look like a line: each has a mark in front.
  return `${[...words.map((one) => `# ${one.replaceAll(/\s+/g, ' ')}`), ...all.map(serialiseLine)].join('\n')}\n`;
}
