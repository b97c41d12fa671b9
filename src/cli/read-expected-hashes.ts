import type { HashClaim } from '../core/checks/archive/check-published-hashes.ts';
import { UsageError } from './usage-error.ts';

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
