import CRC32 from 'crc-32';

/** What the machine-readable code of a card or a tag says. */
interface CardCode {
  /** Letter of the load in the plan that was printed. */
  readonly load: string;
  /** Code on the stick's tag, `CLY-FTJ`; null where the stick was not prepared when it was printed. */
  readonly stick: string | null;
  /** Keys of the rooms it is for: one on a card, in the order of the list on a tag. */
  readonly rooms: readonly string[];
  /** Further rooms, for which there was no place. */
  readonly more: number;
}

/**
 * With more, a module of the smallest code (19 mm, on A6) would be under a third of a millimetre, which phones begin to
 * miss.
 */
const longestRooms = 120;

/**
 * Our own short text, ASCII only, so that it comes unharmed through any decoder and through a scanner that types:
 *
 *     SW1 CLYFTJ A 9KXM Room 2.14 | Room 2.15 | +3
 *
 * form, stick code without its dash (0: none yet), load, check, rooms between bars, how many further rooms there are.
 * The check is four characters of the CRC-32 over all the rest: a scanner set to another keyboard is noticed. A room
 * that is not plain printable ASCII stands as `=` and the base64url form (RFC 4648, section 5) of its UTF-8.
 */
export function writeCardCode({ load, stick, rooms, more }: CardCode): string {
  const words = rooms.map(writeRoom);
  const fitting = words.filter((_, index) => words.slice(0, index + 1).join(' | ').length <= longestRooms);
  const left = more + words.length - fitting.length;
  const tail = [...fitting, ...(left > 0 ? [`+${left}`] : [])].join(' | ');
  const head = [stick === null ? '0' : stick.replace('-', ''), load];
  return ['SW1', ...head, checkOf([...head, tail].join(' ')), tail].join(' ');
}

/** What a scanned text says; undefined for any text that is not a whole code of ours. */
export function readCardCode(text: string): CardCode | undefined {
  const match = /^SW1 (0|[A-Z0-9]{6}) ([A-Z]+) ([A-Z0-9]{4}) (.+)$/.exec(text.trim());
  if (match === null) return undefined;
  const [, code = '', load = '', check, tail = ''] = match;
  if (checkOf([code, load, tail].join(' ')) !== check) return undefined;
  const words = tail.split(' | ');
  const more = /^\+\d+$/.test(words.at(-1) ?? '') ? Number(words.pop()) : 0;
  const stick = code === '0' ? null : `${code.slice(0, 3)}-${code.slice(3)}`;
  return { load, stick, rooms: words.map(readRoom), more };
}

/** ASCII that neither a bar, our two marks, nor a trimming reader changes. */
const isPlain = (room: string): boolean => /^(?![=+])[!-{}~](?:[ -{}~]*[!-{}~])?$/.test(room);

const writeRoom = (room: string): string => (isPlain(room) ? room : `=${toBase64Url(new TextEncoder().encode(room))}`);

const readRoom = (word: string): string =>
  word.startsWith('=') ? new TextDecoder().decode(fromBase64Url(word.slice(1))) : word;

const toBase64Url = (bytes: Uint8Array): string =>
  btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(''))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replaceAll('=', '');

const fromBase64Url = (text: string): Uint8Array =>
  Uint8Array.from(atob(text.replaceAll('-', '+').replaceAll('_', '/')), (character) => character.charCodeAt(0));

/** Those of a stick code: none is misread for another. */
const alphabet = 'ACDEFHJKLMNPRTWXY3479';

/** Four characters over a text, so that a slip in it is noticed. */
export function checkOf(text: string): string {
  let rest = CRC32.str(text) >>> 0;
  let check = '';
  for (let place = 0; place < 4; place++) {
    check += alphabet[rest % alphabet.length];
    rest = Math.floor(rest / alphabet.length);
  }
  return check;
}
