import { type Mode, modes } from '../../model/mode.ts';
import { wordList } from '../../text/words.ts';
import { normaliseHeading } from './list-table.ts';

const setOf = (words: string): ReadonlySet<string> => new Set(wordList(words).map(normaliseHeading));

/**
 * Words that stand for an empty cell. Common practice, no source. In the languages of heading-words.ts where such lists
 * usually have one.
 */
const emptyWords = setOf(`
  n/a, na, none, unknown, not known, tbd, tba, nil, missing, no label, k.a., keine, keine angabe,
  unbekannt, fehlt, inconnu, aucun, neant, desconocido, sin dato, ninguno, sconosciuto, nessuno, onbekend,
  geen, nvt, n.v.t., brak, nieznany, b/d, desconhecido, nenhum, okand, ukendt, ukjent
`);

/** A cell that says "nothing here": empty, a dash, question marks, or a word for it. */
export const isEmptyWord = (text: string): boolean =>
  /^[-–—_.?/\\*\s]*$/u.test(text) || (!text.startsWith('#') && emptyWords.has(normaliseHeading(text)));

/**
 * Words for the two modes. Small on purpose: a word that some people use for both ("reset", "reinstall", "flash") is
 * left out, so that the row is asked about and no panel is wiped by a guess.
 */
const modeWords: Readonly<Record<Mode, ReadonlySet<string>>> = {
  'in-os': setOf(`
    in-os, in os, inos, local update, update, normal, keeps data, from settings,
    lokales update, aktualisierung, im system, im betrieb, mise a jour, mise a jour locale, actualizacion,
    actualizacion local, aggiornamento, aggiornamento locale, bijwerken, lokale update, aktualizacja, atualizacao
  `),
  recovery: setOf(`
    recovery, recovery mode, wipe, wiederherstellung, recovery modus, recuperation, mode recuperation,
    recuperacion, modo recuperacion, ripristino, modalita ripristino, herstel, herstelmodus, odzyskiwanie,
    tryb odzyskiwania, recuperacao, modo de recuperacao
  `),
};

/** The mode that a cell asks for; undefined where the word is not known. */
export function readMode(text: string): Mode | undefined {
  const word = normaliseHeading(text);
  return modes.find((mode) => modeWords[mode].has(word));
}

/** Answers to "approved?" that name nobody, for and against. */
const barelyApproved = setOf(`
  yes, y, x, ok, okay, true, approved, done, 1, ja, j, genehmigt, freigegeben, wahr, oui, o, approuve,
  si, s, aprobado, approvato, akkoord, goedgekeurd, tak, t, zatwierdzone, sim, aprovado, verdadero, vrai, vero
`);
const notApproved = setOf(`
  no, n, false, 0, open, pending, requested, asked, not yet, nein, offen, angefragt, falsch, non, en attente,
  pendiente, in attesa, nee, nie, nao, pendente, faux, falso, refused, abgelehnt, refuse, denied, rejected
`);

/** Whether the cell names somebody, says only yes, or says no. Check marks count as yes. */
export function readApproval(text: string): 'name' | 'yes' | 'no' {
  const word = normaliseHeading(text);
  if (notApproved.has(word)) return 'no';
  if (word === '' || barelyApproved.has(word)) return 'yes';
  return /\p{L}{2}/u.test(text) ? 'name' : 'yes';
}

const totalWords =
  /^(total|totals|sum|sum total|grand total|count|number of (rooms|panels)|summe|gesamt|gesamtsumme|gesamtzahl|anzahl|insgesamt|somme|totaux|nombre|suma|totale|somma|totali|totaal|aantal|razem|lacznie|suma koncowa|soma|totalt|yhteensa|celkem)( (rooms|panels|raume|tafeln|salles|ecrans|salas|aule|lokalen|sal))?( \d+)?$/;

/** The first cell of a row that adds up. */
export const isTotalWord = (text: string): boolean => totalWords.test(normaliseHeading(text));
