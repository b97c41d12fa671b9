import { wordList } from '../../text/words.ts';
import { normaliseHeading } from '../list/list-table.ts';

/**
 * `not-yet`: somebody looked, and the panel has not updated itself. `nothing`: what an export writes for a room where
 * nobody was.
 */
export type FilledOutcome = 'done' | 'failed' | 'skipped' | 'not-yet' | 'nothing';

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
  'not-yet': wordList(`
    not yet, not updated yet, still the old build, noch nicht, pas encore, todavia no, aun no, non ancora, nog niet,
    jeszcze nie, ainda nao, inte an, ikke endnu, ikke enna, ei viela, jeste ne
  `),
  nothing: [
    '',
    '-',
    '–',
    '☐',
    'open',
    'prepared',
    'held',
    'over the air',
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
