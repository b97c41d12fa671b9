import { publishedIn, publishedUnder, signersIn, signersUnder } from '../../core/guide/slip.ts';
import type { Origin } from '../sheet/published.tsx';
import { answers, slip, write } from '../state.ts';

/** What the maker publishes of the slip's package; it is written on the slip. */
export const slipOrigin = (): Origin => ({
  published: publishedIn(answers.value),
  say: (more) =>
    write(
      Object.fromEntries(
        Object.entries(more).map(([name, text]) => [publishedUnder[name as keyof typeof publishedUnder], text]),
      ),
    ),
  signers: signersIn(answers.value),
  trust: (signers) => write({ [signersUnder]: signers.length === 0 ? undefined : JSON.stringify(signers) }),
});

/** The package that it is said of. */
export const slipNames = (): readonly string[] => {
  const { chosen } = slip.value;
  return chosen === undefined ? [] : [chosen.found.name];
};
