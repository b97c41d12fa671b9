import { findHeadingRow, type NamedFields, type Recall } from './find-heading-row.ts';
import type { TableRow } from './list-table.ts';

/** The encodings that lists come in; WHATWG labels. */
export type ListEncoding = 'utf-8' | 'utf-16le' | 'utf-16be' | 'windows-1252';

interface DecodedText {
  /** Without the byte order mark. */
  readonly text: string;
  readonly encoding: ListEncoding;
  readonly byteOrderMark: boolean;
  /** Nothing in the file says that it is this encoding. */
  readonly assumed: boolean;
  /** There are also whole UTF-8 sequences in it, although it is not UTF-8. */
  readonly mixed: boolean;
}

/**
 * The text of a list, by this rule: a byte order mark decides (Encoding Standard, 6 "BOM sniff"); else UTF-16 where
 * every second byte of the beginning is zero; else UTF-8 where every byte fits; else Windows-1252, which is an
 * assumption.
 */
export function decodeText(bytes: Uint8Array): DecodedText {
  const plain = { byteOrderMark: false, assumed: false, mixed: false };
  const marked = encodingOfByteOrderMark(bytes);
  if (marked !== undefined) {
    return { ...plain, text: decode(bytes, marked), encoding: marked, byteOrderMark: true };
  }
  const wide = encodingOfZeros(bytes);
  if (wide !== undefined) return { ...plain, text: decode(bytes, wide), encoding: wide };
  try {
    return { ...plain, text: new TextDecoder('utf-8', { fatal: true }).decode(bytes), encoding: 'utf-8' };
  } catch {
    const mixed = /[\u0080-\u{10FFFF}]/u.test(decode(bytes, 'utf-8').replaceAll('\uFFFD', ''));
    return { ...plain, text: decode(bytes, 'windows-1252'), encoding: 'windows-1252', assumed: true, mixed };
  }
}

/**
 * In two steps, because Node.js 20 takes Latin-1 for Windows-1252 when a text is decoded in one (0x80 as U+0080 instead
 * of the euro sign); its streaming decoder follows the Encoding Standard.
 */
function decode(bytes: Uint8Array, encoding: ListEncoding): string {
  const decoder = new TextDecoder(encoding);
  return decoder.decode(bytes, { stream: true }) + decoder.decode();
}

function encodingOfByteOrderMark(bytes: Uint8Array): ListEncoding | undefined {
  const [first, second, third] = bytes;
  if (first === 0xef && second === 0xbb && third === 0xbf) return 'utf-8';
  if (first === 0xff && second === 0xfe) return 'utf-16le';
  return first === 0xfe && second === 0xff ? 'utf-16be' : undefined;
}

/** Lists begin with words in letters whose upper byte is zero; no text in an 8-bit encoding holds zeros. */
function encodingOfZeros(bytes: Uint8Array): ListEncoding | undefined {
  const head = bytes.subarray(0, 512 - (512 % 2));
  if (head.length < 4 || bytes.length % 2 !== 0) return undefined;
  const zeros = [0, 0];
  for (const [index, byte] of head.entries()) if (byte === 0) zeros[index % 2] = (zeros[index % 2] ?? 0) + 1;
  const [even = 0, odd = 0] = zeros;
  const enough = head.length / 4;
  if (odd > enough && even < odd / 8) return 'utf-16le';
  return even > enough && odd < even / 8 ? 'utf-16be' : undefined;
}

/** A text in an encoding of lists; undefined where it has a character that the encoding lacks. */
export function encodeText(text: string, encoding: ListEncoding, byteOrderMark: boolean): Uint8Array | undefined {
  const marked = byteOrderMark ? `\uFEFF${text}` : text;
  if (encoding === 'utf-8') return new TextEncoder().encode(marked);
  if (encoding === 'windows-1252') return encodeWindows1252(text);
  const bytes = new Uint8Array(marked.length * 2);
  const view = new DataView(bytes.buffer);
  for (let index = 0; index < marked.length; index++) {
    view.setUint16(index * 2, marked.charCodeAt(index), encoding === 'utf-16le');
  }
  return bytes;
}

function encodeWindows1252(text: string): Uint8Array | undefined {
  const all = decode(
    Uint8Array.from({ length: 256 }, (_, byte) => byte),
    'windows-1252',
  );
  const byteOf = new Map([...all].map((character, byte) => [character, byte]));
  const bytes = new Uint8Array(text.length);
  for (let index = 0; index < text.length; index++) {
    const byte = byteOf.get(text.charAt(index));
    if (byte === undefined) return undefined;
    bytes[index] = byte;
  }
  return bytes;
}

/** In the order of preference where nothing speaks for one of them. */
export const delimiters = [';', ',', '\t', '|'] as const;

interface Split {
  readonly delimiter: string;
  /** The first rows of the text, split at it. */
  readonly rows: readonly TableRow[];
}

/**
 * The delimiter whose split makes most sense: most fields known by their headings, then most rows with as many cells as
 * the heading row has.
 */
export function chooseDelimiter(splits: readonly Split[], named: NamedFields, recall: Recall): string {
  const scored = splits.map((split) => ({ split, score: scoreOf(split, named, recall) }));
  const best = scored.reduce((first, second) => (second.score > first.score ? second : first));
  return best.split.delimiter;
}

function scoreOf({ rows }: Split, named: NamedFields, recall: Recall): number {
  const found = findHeadingRow(rows, named, recall);
  if (found?.index === undefined) return 0;
  const below = rows.slice(found.index).filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
  const alike = below.filter(({ cells }) => cells.length === found.headings.length).length;
  return Object.keys(found.columns).length * 10 + (found.headings.length < 2 ? 0 : alike / Math.max(1, below.length));
}
