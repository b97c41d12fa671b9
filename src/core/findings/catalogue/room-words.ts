import { listInWords } from '../words.ts';

/** Why a list that cannot be read at all matters. */
export const noRound = 'Without the rooms and the labels nobody can say which stick goes where.';
/** The first of some names, quoted. */
export const quoted = (items: readonly string[], most = 12): string =>
  listInWords(
    items.map((item) => `"${item}"`),
    most,
  );
