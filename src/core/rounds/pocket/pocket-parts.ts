import { checkOf } from '../records/card-code.ts';
import { type PocketLine, serialiseLine } from './pocket-lines.ts';

/** Raw DEFLATE (RFC 1951) of a text's UTF-8 bytes with this dictionary, and back; `unpack` throws on other bytes. */
export interface Packing {
  readonly pack: (text: string, dictionary: string) => Uint8Array;
  /** Of what is longer than MOST BYTES it throws, too. */
  readonly unpack: (bytes: Uint8Array, dictionary: string, mostBytes: number) => string;
}

/**
 * What stands in nearly every line: given to the packing, a part has only what is its own. Part of the form: another
 * dictionary is another form.
 */
const dictionary =
  '"outcome":"done","failed","skipped","not-yet","wiped":false,"wiped":true,"mode":"recovery","mode":"in-os",' +
  '"buildBefore":null,"serial":null,"asset":null,"stick":null,"package":null,"buildAfter":null,"text":null}' +
  '{"schema":"stickwright/pocket-line/1","pocket":"","number":1,"previous":null,"previous":"","record":' +
  '{"schema":"stickwright/round-record/2","schema":"stickwright/round-record/1","id":"","notedAt":"2026-","at":"2026-",' +
  '"who":"","kind":"withdrawn","withdraws":"","because":"","kind":"looked","kind":"visit","room":"Room ","label":"",' +
  '"serial":"","asset":"","stick":"","package":{"name":"","sha256":"","build":""},"mode":"","outcome":"",' +
  '"buildBefore":"","buildAfter":"","wiped":false,"text":""},"code":"';

/** A code that a camera reads off a phone's screen: a module of it is at least a third of a millimetre there. */
export const mostInCode = 900;
/** Text that is copied needs fewer and longer parts. */
export const mostInText = 4_000;
/** No person writes more into one part. */
const mostPartBytes = 200_000;

const form = 'SWP1';

/**
 * Lines as parts that travel each by itself: in a text, or as a code each. Every part holds whole lines, so that one
 * that is lost takes no other along:
 *
 *     SWP1/KCAE/2/5/9KXM/MFRGG43F….
 *
 * form, which parts belong together, part 2 of 5, check, the packed lines in base32 (RFC 4648, section 6, without
 * padding), a full stop. Capitals, digits, `/` and `.` only: the smallest codes (ISO/IEC 18004, alphanumeric mode), and
 * nothing that a mail, a chat or a keyboard changes. Line ends and marks of quotation in between do no harm.
 */
export function writeParts(lines: readonly PocketLine[], most: number, { pack }: Packing): readonly string[] {
  const packed: string[] = [];
  let some: string[] = [];
  const write = (texts: readonly string[]): string => toBase32(pack(texts.join('\n'), dictionary));
  for (const line of lines.map(serialiseLine)) {
    if (some.length > 0 && write([...some, line]).length > most) {
      packed.push(write(some));
      some = [];
    }
    some.push(line);
  }
  if (some.length > 0) packed.push(write(some));
  const set = checkOf(packed.join('/'));
  return packed.map((text, index) => {
    const place = `${set}/${index + 1}/${packed.length}`;
    return `${form}/${place}/${checkOf(`${place}/${text}`)}/${text}.`;
  });
}

interface WholePart {
  readonly state: 'whole';
  /** Of every part that belongs to the same series. */
  readonly set: string;
  /** From 1. */
  readonly number: number;
  readonly of: number;
  readonly lines: readonly string[];
}

/** `where`: what can be read of which part it is. */
export type PartReading = WholePart | { readonly state: 'torn'; readonly where: string };

const partForm = /^SWP1\/([A-Z0-9]{4})\/([1-9]\d{0,4})\/([1-9]\d{0,4})\/([A-Z0-9]{4})\/([A-Z2-7]+)$/;

/** Every part in a text, whole or not. Never throws on bad text. */
export function readParts(text: string, packing: Packing): readonly PartReading[] {
  const [, ...pieces] = text.split(`${form}/`);
  return pieces.map((piece) => {
    const end = piece.indexOf('.');
    // What a mail program puts in between, at the beginning of its lines.
    const body = `${form}/${(end === -1 ? piece : piece.slice(0, end)).replace(/[\s>|\u200b]/g, '').toUpperCase()}`;
    return (end === -1 ? undefined : readPart(body, packing)) ?? { state: 'torn', where: placeOf(body) };
  });
}

/**
 * Which part of which series the text of one code is; undefined for any other text, and where its check is not right.
 * What is packed in it is not looked at.
 */
export function placeOfPart(code: string): Pick<WholePart, 'set' | 'number' | 'of'> | undefined {
  const part = checkedPart(code.trim().replace(/\.$/, ''));
  return part && { set: part.set, number: part.number, of: part.of };
}

function checkedPart(body: string) {
  const [, set = '', number = '', of = '', check, packed = ''] = partForm.exec(body) ?? [];
  if (check === undefined || checkOf(`${set}/${number}/${of}/${packed}`) !== check) return undefined;
  return { set, number: Number(number), of: Number(of), packed };
}

function readPart(body: string, { unpack }: Packing): WholePart | undefined {
  const part = checkedPart(body);
  if (part === undefined) return undefined;
  const { packed, ...place } = part;
  try {
    return { state: 'whole', ...place, lines: unpack(fromBase32(packed), dictionary, mostPartBytes).split('\n') };
  } catch {
    return undefined;
  }
}

const placeOf = (body: string): string => {
  const [, number, of] = /^SWP1\/[A-Z0-9]*\/(\d{1,5})\/(\d{1,5})\//.exec(body) ?? [];
  return number === undefined ? 'a part' : `part ${number} of ${of}`;
};

const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567';

function toBase32(bytes: Uint8Array): string {
  let text = '';
  let bits = 0;
  let held = 0;
  for (const byte of bytes) {
    held = (held << 8) | byte;
    for (bits += 8; bits >= 5; bits -= 5) text += alphabet[(held >> (bits - 5)) & 31];
    held &= 31;
  }
  return bits === 0 ? text : text + alphabet[(held << (5 - bits)) & 31];
}

function fromBase32(text: string): Uint8Array {
  const bytes: number[] = [];
  let bits = 0;
  let held = 0;
  for (const character of text) {
    held = ((held << 5) | alphabet.indexOf(character)) & 0xffff;
    bits += 5;
    if (bits >= 8) {
      bits -= 8;
      bytes.push((held >> bits) & 255);
    }
  }
  return Uint8Array.from(bytes);
}
