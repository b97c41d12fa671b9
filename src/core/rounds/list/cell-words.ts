import type { wayQuestions } from '../../guide/way-questions.ts';
import { type Mode, modes } from '../../model/mode.ts';
import type { WayField } from '../../model/room.ts';
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

type WayValue<Field extends WayField> = (typeof wayQuestions)[Field]['choices'][number]['value'];

const yes = setOf(
  'yes, y, true, ja, j, wahr, oui, vrai, si, verdadero, vero, tak, prawda, sim, verdadeiro, ano, kylla',
);
const no = setOf('no, n, false, nein, falsch, non, faux, falso, nee, nie, falsz, nao, nej, nei, ne, ei');
const notKnown = setOf(`
  unknown, not known, nobody knows, nobody has looked, not looked, not checked, unbekannt, nicht bekannt,
  nicht gepruft, inconnu, pas verifie, desconocido, no se sabe, sconosciuto, non verificato, onbekend, nieznany,
  nie wiadomo, desconhecido, okand, ukendt, ukjent, tuntematon, neznamo
`);

/**
 * Words for what a panel can still do, for each choice of its question. Small on purpose, as for the modes: where "no"
 * could mean several things (its own update finds nothing, fails, cannot be had), it is left out and asked about.
 */
const wayWords: { readonly [Field in WayField]: Readonly<Record<WayValue<Field> | 'unknown', ReadonlySet<string>>> } = {
  starts: {
    yes: new Set([...yes, ...setOf('starts, startet, demarre, arranca, si avvia, start op, uruchamia sie')]),
    no: new Set([
      ...no,
      ...setOf(`
        does not start, dark, black, stuck, boot loop, starts again and again, startet nicht, dunkel, hangt,
        ne demarre pas, ecran noir, no arranca, pantalla negra, non si avvia, start niet, nie uruchamia sie, nao liga
      `),
    ]),
    unknown: notKnown,
  },
  air: {
    offers: setOf(`
      offers, offers an update, update offered, update available, available, found, bietet an, update verfugbar,
      verfugbar, bietet update an, propose une mise a jour, mise a jour disponible, disponible, ofrece,
      actualizacion disponible, offre, aggiornamento disponibile, disponibile, update beschikbaar, beschikbaar,
      aktualizacja dostepna, dostepna, atualizacao disponivel, disponivel
    `),
    fails: setOf(`
      fails, failed, update fails, error, schlagt fehl, fehlgeschlagen, fehler, echoue, echec, erreur, falla, fallo,
      fallisce, fallito, errore, mislukt, fout, nieudana, blad, falha, erro
    `),
    nothing: setOf(`
      nothing, finds nothing, nothing newer, nothing found, no update, up to date, findet nichts, nichts neueres,
      kein update, aktuell, rien, rien de nouveau, a jour, aucune mise a jour, nada, nada nuevo, actualizado,
      niente, nessun aggiornamento, aggiornato, niets, niets nieuws, geen update, nic, brak aktualizacji, aktualny,
      nada novo, atualizado
    `),
    offline: setOf(`
      offline, not online, not online now, could be online, not connected, nicht online, nicht verbunden, hors ligne,
      pas connecte, sin conexion, desconectado, non in linea, non collegato, niet online, niet verbonden,
      niepolaczony, sem ligacao
    `),
    cannot: setOf(`
      cannot, cannot be online, never online, no network, cannot go online, kann nicht online, kein netz,
      kein netzwerk, pas de reseau, sans reseau, sin red, no puede, senza rete, nessuna rete, geen netwerk,
      brak sieci, sem rede
    `),
    unknown: notKnown,
  },
  settings: {
    yes: new Set([...yes, ...setOf('open, offen, ouvert, abierto, aperto')]),
    no: new Set([...no, ...setOf('locked, gesperrt, verrouille, bloqueado, bloccato, vergrendeld, zablokowane')]),
    'failed-twice': setOf(`
      failed twice, stick failed twice, zweimal fehlgeschlagen, echoue deux fois, fallo dos veces, fallito due volte,
      twee keer mislukt, dwa razy nieudane, falhou duas vezes
    `),
    maker: setOf(`
      maker, maker asks for recovery, maker says recovery, hersteller, hersteller verlangt recovery, fabricant,
      fabricante, produttore, fabrikant, producent
    `),
    unknown: notKnown,
  },
  keep: {
    yes: yes,
    no: new Set([
      ...no,
      ...setOf(`
        nothing, nothing to keep, copied off, saved, all saved, nichts, gesichert, alles gesichert, rien, sauvegarde,
        nada, guardado, niente, salvato, niets, opgeslagen, nic, zapisane
      `),
    ]),
    unknown: notKnown,
  },
};

/**
 * The answer that a cell gives to the question of its column; an empty text for an empty cell or a dash; undefined
 * where the word is not known. Signs that spreadsheets put for yes and no count.
 */
export function readAnswer(field: WayField, text: string): string | undefined {
  const sign = text.trim().replace(/[\uFE0E\uFE0F]/g, '');
  if (/^[✓✔☑]$/.test(sign) && field !== 'air') return 'yes';
  if (/^[✗✘☒]$/.test(sign) && field !== 'air') return 'no';
  if (/^\?+$/.test(sign)) return 'unknown';
  const word = normaliseHeading(text);
  const answer = Object.entries(wayWords[field]).find(([, words]) => words.has(word))?.[0];
  return answer ?? (isEmptyWord(text) ? '' : undefined);
}

const totalWords =
  /^(total|totals|sum|sum total|grand total|count|number of (rooms|panels)|summe|gesamt|gesamtsumme|gesamtzahl|anzahl|insgesamt|somme|totaux|nombre|suma|totale|somma|totali|totaal|aantal|razem|lacznie|suma koncowa|soma|totalt|yhteensa|celkem)( (rooms|panels|raume|tafeln|salles|ecrans|salas|aule|lokalen|sal))?( \d+)?$/;

/** The first cell of a row that adds up. */
export const isTotalWord = (text: string): boolean => totalWords.test(normaliseHeading(text));
