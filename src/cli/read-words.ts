import type { HashClaim } from '../core/checks/archive/check-published-hashes.ts';
import { catalogue, isFindingCode } from '../core/findings/catalogue.ts';
import { isAcceptable, isReason } from '../core/findings/finding.ts';
import { readByteSize } from '../core/text/byte-size.ts';
import { didYouMean, nearestWords } from '../core/text/nearest.ts';
import { noByteCount, readByteCount } from '../core/text/published.ts';
import { UsageError } from './frame/exit-codes.ts';

interface AcceptOptions {
  readonly accept: readonly string[];
  readonly because: readonly string[];
}

/** `--accept` and `--because` in pairs, in the order they were given. */
export function acceptedReasons({ accept, because }: AcceptOptions): ReadonlyMap<string, string> {
  if (accept.length !== because.length) {
    throw new UsageError(
      'Every --accept needs its own --because.',
      'For example: --accept stick/dirty --because "repaired, checked twice by two people"',
    );
  }
  for (const code of accept) {
    if (!isFindingCode(code)) {
      const meant = didYouMean(nearestWords(code, Object.keys(catalogue).filter(isStop)));
      throw new UsageError(`There is no code ${code}.${meant}`, 'All of them: `stickwright explain`.');
    }
    if (!isAcceptable(code)) {
      throw new UsageError(
        `${code} cannot be accepted.`,
        `It is no stop, or none that a reason can lift: \`stickwright explain ${code}\` says why.`,
      );
    }
  }
  const empty = because.findIndex((reason) => !isReason(reason));
  if (empty >= 0) {
    throw new UsageError(
      `The reason for ${accept[empty]} is empty, or too short to be one.`,
      'It is written down for all who come after: say why.',
    );
  }
  return new Map(accept.map((code, index) => [code, because[index] ?? '']));
}

const isStop = (code: string): boolean => isFindingCode(code) && isAcceptable(code);

/** Bytes of a size on the command line: `16GB`, `32 KiB`, `65536`. */
export function parseSize(option: string, text: string): number {
  try {
    const plain = /^\d+$/.test(text.trim());
    const bytes = plain ? Number(text) : readByteSize(text.trim());
    if (Number.isSafeInteger(bytes) && bytes > 0) return bytes;
  } catch {
    // said below
  }
  throw new UsageError(`${option} ${text} is no size.`, 'Write it like 16GB, 512 MiB or 65536.');
}

/** The file's length that a person copied from the maker's page. */
export function readExpectedBytes(text: string | undefined): number | undefined {
  if (text === undefined) return undefined;
  const bytes = readByteCount(text);
  if (bytes !== undefined) return bytes;
  throw new UsageError(`"${text}" is no number of bytes.`, noByteCount);
}

export interface ExpectedHashes {
  readonly expectSha256?: string | undefined;
  readonly expectSha512?: string | undefined;
  readonly expectSha1?: string | undefined;
  readonly expectMd5?: string | undefined;
}

/** The hashes that a person copied from the maker's page. */
export function readExpectedHashes(options: ExpectedHashes): readonly HashClaim[] {
  return [
    ...claimOf('SHA-256', 64, options.expectSha256),
    ...claimOf('SHA-512', 128, options.expectSha512),
    ...claimOf('SHA-1', 40, options.expectSha1),
    ...claimOf('MD5', 32, options.expectMd5),
  ];
}

function claimOf(algorithm: HashClaim['algorithm'], digits: number, text: string | undefined): readonly HashClaim[] {
  if (text === undefined) return [];
  const hex = text.replace(/\s/g, '').toLowerCase();
  if (!/^[0-9a-f]+$/.test(hex) || hex.length !== digits) {
    const todo = `A ${algorithm} hash has ${digits} digits from 0 to 9 and a to f: copy it whole from the maker's page.`;
    throw new UsageError(`"${text}" is no ${algorithm} hash.`, todo);
  }
  return [{ algorithm, hex, from: 'the command line' }];
}
