import { type HashAlgorithm, type ListedHash, parseChecksumList } from './checksum-list.ts';
import { countInWords, listInWords } from './words.ts';

/** What a maker's page says of a package, as somebody copied it. */
export interface PublishedSaid {
  /** A value, a line of a checksum list, or all of it. */
  readonly hash?: string | undefined;
  /** The name of the list that it was taken from. */
  readonly hashFrom?: string | undefined;
  /** The length in bytes. */
  readonly bytes?: string | undefined;
}

type HashesRead =
  | { readonly state: 'nothing' }
  | { readonly state: 'read'; readonly hashes: readonly ListedHash[] }
  | { readonly state: 'wrong'; readonly why: string };

/** Hexadecimal digits of a value: FIPS 180-4, section 1, and RFC 1321. */
const digitsOf: Readonly<Partial<Record<HashAlgorithm, number>>> = {
  'SHA-256': 64,
  'SHA-512': 128,
  'SHA-384': 96,
  'SHA-1': 40,
  MD5: 32,
};

const lengths = Object.entries(digitsOf)
  .map(([algorithm, digits]) => `${algorithm} ${digits}`)
  .join(', ');

/**
 * The hashes of the file of this NAME in what somebody pasted. A value may stand there in groups; of a list the lines
 * count that name the file, in any case.
 */
export function readHashesSaid({ hash = '' }: PublishedSaid, name: string): HashesRead {
  const text = hash.trim();
  if (text === '') return { state: 'nothing' };
  const plain = text.replace(/\s/g, '');
  if (/^[0-9a-f]*$/i.test(plain)) return oneValue(plain.toLowerCase());
  const { hashes } = parseChecksumList(text);
  if (hashes.length === 0) return wrong(whyNoHash(plain));
  const bare = hashes.filter(({ fileName }) => fileName === undefined);
  const ours = hashes.filter(({ fileName }) => fileName !== undefined && isSameName(fileName, name));
  if (ours.length === 0 && bare.length === 0) {
    const named = [...new Set(hashes.flatMap(({ fileName }) => fileName ?? []))];
    return wrong(
      `It names ${countInWords(named.length, 'file')}, and none is called ${name}: ${listInWords(named, 3)}.`,
    );
  }
  const meant = ours.length > 0 ? ours : bare;
  const twice = meant.find(({ algorithm, hex }) =>
    meant.some((other) => other.algorithm === algorithm && other.hex !== hex),
  );
  if (twice !== undefined) return wrong(`Two values of ${twice.algorithm} stand there: keep the one of ${name}.`);
  return { state: 'read', hashes: meant };
}

const wrong = (why: string): HashesRead => ({ state: 'wrong', why });

function oneValue(hex: string): HashesRead {
  const known = Object.entries(digitsOf).find(([, digits]) => digits === hex.length);
  if (known === undefined)
    return wrong(`It has ${countInWords(hex.length, 'digit')}: ${lengths}. Copy it whole from the maker's page.`);
  return { state: 'read', hashes: [{ algorithm: known[0] as HashAlgorithm, hex, fileName: undefined }] };
}

/** A letter that slipped in, where the rest is a value; else it is something else. */
function whyNoHash(text: string): string {
  const strange = [...new Set(text.replace(/[0-9a-f]/gi, ''))];
  return strange.length <= 3
    ? `${strange.map((letter) => `"${letter}"`).join(', ')} is no digit of a hash: those are 0 to 9 and a to f.`
    : "That is no hash, and no line of a checksum list. Copy the value itself from the maker's page.";
}

const isSameName = (a: string, b: string): boolean =>
  a.normalize('NFC').toLowerCase() === b.normalize('NFC').toLowerCase();

/** Whether it stands there without the name of a file: then it is that of one file alone. */
export const isBare = ({ hashes }: { readonly hashes: readonly ListedHash[] }): boolean =>
  hashes.every(({ fileName }) => fileName === undefined);

/** Whole bytes, alone or in groups of three: pages print 1234567 as "1,234,567", "1.234.567" or "1 234 567". */
const wholeBytes = /^(?:\d+|\d{1,3}(?:[,.'\u2019\s]\d{3})+)$/;

/** The exact length that a page states; undefined where the text is no number of bytes. */
export function readByteCount(text: string): number | undefined {
  const bytes = wholeBytes.test(text.trim()) ? Number(text.replace(/\D/g, '')) : 0;
  return Number.isSafeInteger(bytes) && bytes > 0 ? bytes : undefined;
}

export const noByteCount =
  'Give the exact number of bytes, such as 1234567890; a rounded size such as 1.2 GB proves nothing.';
