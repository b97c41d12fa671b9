import { fatNameProblem } from '../volume-format/fat-name.ts';

// What a shelf takes, judged before anything is read; also in a browser, where a schema's library would be in the way.

/** The name of a record inside a package's folder; no package can be called so. */
export const shelfRecordName = 'record.json';

/** A package keeps its own name on the shelf, and a stick must be able to carry that name. */
export function packageNameProblem(name: string): string | undefined {
  if (name.toLowerCase() === shelfRecordName) return 'the shelf keeps that name for itself';
  return fatNameProblem(name);
}

/** A release note is some pages of text; a longer one is another file. */
export const longestNote = 200_000;
export const longestSource = 2_000;

/** More than any panel's package has; a page hands over no larger file (common practice, no source). */
export const largestPackageBytes = 64 * 2 ** 30;

/**
 * Why a shelf does not keep this address of a download, as the end of a sentence about it; undefined where it does. A
 * password in it would be kept too, for everybody to read.
 */
export function sourceProblem(address: string): string | undefined {
  if (address === '' || address.length > longestSource || /\p{Cc}/u.test(address))
    return 'is empty, too long, or holds control characters';
  return /^[a-z][a-z0-9+.-]*:\/\/[^/?#@]*@/i.test(address) ? 'holds a user name or a password' : undefined;
}

/** Why a release note is not kept; undefined where it is. */
export const noteProblem = (note: string): string | undefined =>
  note.length > longestNote
    ? `The release note has ${note.length.toLocaleString('en-US')} characters; ${longestNote.toLocaleString('en-US')} are kept.`
    : undefined;
