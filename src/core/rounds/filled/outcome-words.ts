import { wordList } from '../../text/words.ts';
import { normaliseHeading } from '../list/list-table.ts';

/** `nothing`: what an export writes for a room where nobody was, and what people write for "not yet". */
export type FilledOutcome = 'done' | 'failed' | 'skipped' | 'nothing';

/** Words in a column for the outcome (common practice, no source); a word that could mean two of these is left out. */
const words: Readonly<Record<FilledOutcome, readonly string[]>> = {
  done: wordList(`
    done, ok, okay, yes, y, x, updated, success, successful, under way, unclear, ✓, ✔, ☑,
    erledigt, fertig, gemacht, ja, aktualisiert, fait, oui, hecho, si, fatto, gedaan, klaar, zrobione, tak
  `),
  failed: wordList(`
    failed, fail, failure, error, not ok, nok, unsuccessful, ✗, ✘, ☒,
    fehlgeschlagen, fehler, gescheitert, misslungen, echoue, echec, fallido, fallo, fallito, mislukt, nieudane
  `),
  skipped: wordList(`
    skipped, skip, not done, locked, no access, occupied,
    ubersprungen, ausgelassen, nicht gemacht, verschlossen, besetzt, saute, omitido, saltado, saltato, overgeslagen,
    pominiete
  `),
  nothing: [
    '',
    '-',
    '–',
    '☐',
    'open',
    'prepared',
    'held',
    'up to date',
    'cannot be used',
    'said twice',
    'no room',
    'todo',
    'to do',
    'offen',
    'a faire',
    'pendiente',
    'da fare',
  ],
};

const meaning = new Map<string, FilledOutcome>();
for (const [outcome, list] of Object.entries(words) as [FilledOutcome, readonly string[]][]) {
  for (const word of list) meaning.set(keyOf(word), outcome);
}

/** Signs have no letters to normalise. */
function keyOf(word: string): string {
  const plain = normaliseHeading(word);
  return plain === '' ? word.trim() : plain;
}

/** Undefined for a word that is not known. */
export const readOutcome = (text: string): FilledOutcome | undefined => meaning.get(keyOf(text));
