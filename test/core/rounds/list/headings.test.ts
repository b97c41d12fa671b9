import { describe, expect, it } from 'vitest';
import { roomFields } from '../../../../src/core/model/room.ts';
import { findHeadingRow } from '../../../../src/core/rounds/list/find-heading-row.ts';
import { headingWords } from '../../../../src/core/rounds/list/heading-words.ts';
import { normaliseHeading } from '../../../../src/core/rounds/list/list-table.ts';
import { findColumn, matchColumns, recogniseHeading } from '../../../../src/core/rounds/list/match-columns.ts';

describe('the words of headings', () => {
  it('stand for one field each', () => {
    const fields = new Map<string, string>();
    for (const field of roomFields) {
      for (const word of [...headingWords[field].sure, ...headingWords[field].likely]) {
        const key = normaliseHeading(word);
        expect([word, fields.get(key) ?? field]).toEqual([word, field]);
        fields.set(key, field);
        expect(recogniseHeading(word)).toMatchObject({ field });
      }
    }
    expect(fields.size).toBeGreaterThan(400);
  });

  // Written as people of each country head such lists; common practice, no source.
  it.each([
    [
      'en',
      [
        'Room No.',
        'Model number',
        'Firmware version',
        'S/N',
        'Asset-Tag',
        'Remarks',
        'Mode',
        'Approved by',
        'Does it start?',
        'Over the air',
        'Settings open',
        'Worth keeping',
      ],
    ],
    [
      'de',
      [
        'Raum-Nr.',
        'Typenschild',
        'Firmwarestand',
        'Serien-Nr.',
        'Inventarnummer',
        'Bemerkungen',
        'Modus',
        'Freigabe durch',
        'Startet die Tafel?',
        'Update über das Netz',
        'Einstellungen offen',
        'Etwas zu behalten',
      ],
    ],
    [
      'fr',
      [
        'N° de salle',
        'Plaque signalétique',
        'Version actuelle',
        'N° de série',
        "N° d'inventaire",
        'Remarques',
        'Mode',
        'Approuvé par',
        "L'écran démarre",
        'Mise à jour par le réseau',
        'Accès aux réglages',
        'Données à conserver',
      ],
    ],
    [
      'es',
      [
        'Aula',
        'Placa de características',
        'Versión actual',
        'Nº de serie',
        'Nº de inventario',
        'Observaciones',
        'Modo',
        'Aprobado por',
        'El panel arranca',
        'Actualización por red',
        'Acceso a ajustes',
        'Algo que conservar',
      ],
    ],
    [
      'it',
      [
        'Stanza',
        'Targhetta',
        'Versione attuale',
        'Matricola',
        'N. inventario',
        'Note',
        'Modalità',
        'Approvato da',
        'Il pannello si avvia',
        'Aggiornamento via rete',
        'Accesso alle impostazioni',
        'Dati da conservare',
      ],
    ],
    [
      'nl',
      [
        'Lokaal',
        'Typeplaatje',
        'Huidige versie',
        'Serienummer',
        'Inventarisnummer',
        'Opmerkingen',
        'Modus',
        'Goedgekeurd door',
        'Start het scherm?',
        'Update via het netwerk',
        'Toegang tot instellingen',
        'Gegevens te bewaren',
      ],
    ],
    [
      'pl',
      [
        'Nr sali',
        'Tabliczka znamionowa',
        'Wersja oprogramowania',
        'Numer seryjny',
        'Nr inwentarzowy',
        'Uwagi',
        'Tryb',
        'Zatwierdził',
        'Uruchamia się',
        'Aktualizacja przez sieć',
        'Dostęp do ustawień',
        'Dane do zachowania',
      ],
    ],
    [
      'pt',
      [
        'Sala',
        'Chapa de características',
        'Versão atual',
        'Número de série',
        'N.º de património',
        'Observações',
        'Modo',
        'Aprovado por',
        'O painel arranca',
        'Atualização pela rede',
        'Acesso às definições',
        'Dados a conservar',
      ],
    ],
  ])('are known in %s', (_, headings) => {
    const { columns } = matchColumns(headings);
    expect(roomFields.map((field) => columns[field])).toEqual(roomFields.map((_, at) => at));
  });

  // Columns that a list may well have for something else; common practice, no source.
  it.each(['Starts', 'Settings', 'Einstellungen', 'Ajustes', 'Online', 'Keep', 'Start', 'Network', 'Backup'])(
    '%s alone is no word on what a panel can still do',
    (heading) => {
      expect(recogniseHeading(heading)).toBeUndefined();
    },
  );

  it('meet in every spelling', () => {
    for (const spelling of ['Raum-Nr.', 'RAUM NR', 'raumNr', ' Raum\nNr ', 'Raum (laut Plan)', 'Ｒａｕｍ']) {
      expect(recogniseHeading(spelling)).toEqual({ field: 'room', strength: 'sure' });
    }
    expect(normaliseHeading('Gerätetyp')).toBe('geratetyp');
    expect(normaliseHeading('Straße / Łódź')).toBe('strasse lodz');
  });

  it('are only a hint inside a longer heading, and nothing where they name two fields', () => {
    expect(recogniseHeading('Firmware of the panel')).toEqual({ field: 'running', strength: 'hint' });
    expect(recogniseHeading('Room and serial')).toBeUndefined();
    expect(matchColumns(['Room', 'Firmware of the panel'])).toMatchObject({
      columns: { room: 0 },
      hints: { running: 1 },
    });
  });

  it('win when they are sure over likely ones, and leave rivals to be told', () => {
    expect(matchColumns(['Location', 'Room', 'Model', 'Type plate']).columns).toEqual({ room: 1, label: 3 });
    expect(matchColumns(['Location', 'Room', 'Raum']).rivals).toEqual([{ field: 'room', taken: 1, others: [2] }]);
  });
});

describe('the row of the headings', () => {
  const rows = (...cells: readonly (readonly string[])[]) =>
    cells.map((one, index) => ({ row: index + 1, cells: one }));
  const none = () => undefined;

  it('is found below titles, and not in a title that happens to hold a usual word', () => {
    const table = rows(['Rooms', ''], [], ['Room', 'Label'], ['Model', 'Serial']);
    expect(findHeadingRow(table, {}, none)).toMatchObject({ index: 2, columns: { room: 0, label: 1 } });
  });

  it('is the one that holds what was named', () => {
    const table = rows(['Room', 'Label'], ['Wo', 'Was'], ['1', '2']);
    expect(findHeadingRow(table, { room: 'wo' }, none)).toMatchObject({ index: 1, columns: { room: 0 } });
  });

  it('is the one that is remembered', () => {
    const table = rows(['Room', 'Label'], ['Wo', 'Was'], ['1', '2']);
    const recall = (headings: readonly string[]) => (headings[0] === 'Wo' ? { room: 1, label: 0 } : undefined);
    expect(findHeadingRow(table, {}, recall)).toMatchObject({ index: 1, columns: { room: 1, label: 0 } });
  });
});

describe('a named column', () => {
  it('is the one with that heading, or that number; never one of two', () => {
    expect(findColumn(['Raum', 'raum', 'x'], 'Raum')).toBe(0);
    expect(findColumn(['Raum-Nr.', 'x'], 'raum nr')).toBe(0);
    expect(findColumn(['RAUM', 'raum', 'x'], 'Raum')).toBeUndefined();
    expect(findColumn(['', '', 'x'], '#2')).toBe(1);
    expect(findColumn(['', '', 'x'], '#4')).toBeUndefined();
    expect(findColumn(['', '', 'x'], '')).toBeUndefined();
  });
});
