import { isFindingCode } from '../core/findings/catalogue.ts';
import { isAcceptable } from '../core/findings/finding.ts';
import { UsageError } from './usage-error.ts';

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
    if (!isFindingCode(code)) throw new UsageError(`There is no code ${code}.`, 'All of them: stickwright explain');
    if (!isAcceptable(code)) {
      throw new UsageError(
        `${code} cannot be accepted.`,
        `It is no stop, or none that a reason can lift: stickwright explain ${code}`,
      );
    }
  }
  const empty = because.findIndex((reason) => reason.trim().length < 3);
  if (empty >= 0) {
    throw new UsageError(
      `The reason for ${accept[empty]} is empty, or too short to be one.`,
      'It is written down for all who come after: say why.',
    );
  }
  return new Map(accept.map((code, index) => [code, because[index] ?? '']));
}
