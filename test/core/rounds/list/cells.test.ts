import { describe, expect, it } from 'vitest';
import { wayQuestions } from '../../../../src/core/guide/way-questions.ts';
import { wayFields } from '../../../../src/core/model/room.ts';
import {
  isEmptyWord,
  isTotalWord,
  readAnswer,
  readApproval,
  readMode,
} from '../../../../src/core/rounds/list/cell-words.ts';
import { findMangling, isFormula, unwrapTextFormula } from '../../../../src/core/rounds/list/judge-cells.ts';
import { cleanCell, columnLetters } from '../../../../src/core/rounds/list/list-table.ts';

describe('a cell', () => {
  it('loses what cannot be seen, and keeps its lines where they are asked for', () => {
    expect(cleanCell(' K2-second\u00A0\u200B75/5B\uFEFF ')).toEqual({
      text: 'K2-second 75/5B',
      controls: [],
      oddSpaces: true,
    });
    expect(cleanCell('a\u0000b\u009Fc')).toEqual({ text: 'abc', controls: ['U+0000', 'U+009F'], oddSpaces: false });
    // Half a character: no reader of the plan would take it.
    expect(cleanCell('a\ud800b')).toEqual({ text: 'ab', controls: ['U+D800'], oddSpaces: false });
    expect(cleanCell('one\r\n two\u2028three')).toMatchObject({ text: 'one two three', oddSpaces: false });
    expect(cleanCell('one\r\n two', true).text).toBe('one\ntwo');
  });

  it('says "nothing here" in many ways, but not as an error of a formula', () => {
    for (const text of ['', ' ', '-', '—', '??', 'n/a', 'N.A.', 'k. A.', 'unbekannt', 'Inconnu', 'b/d']) {
      expect([text, isEmptyWord(text)]).toEqual([text, true]);
    }
    for (const text of ['0', 'A1', '#N/A', 'Nano']) expect([text, isEmptyWord(text)]).toEqual([text, false]);
  });
});

describe('what a spreadsheet makes of a cell', () => {
  it.each([
    ['########', 'hashes'],
    ['1.2E+10', 'exponent'],
    ['2,0240117E+07', 'exponent'],
    ['04.Feb', 'date'],
    ['4. Mär. 24', 'date'],
    ['Feb 04', 'date'],
    ['02-déc', 'date'],
    ['2024-02-04 00:00:00', 'date'],
    ['04/02/2024', 'date'],
    ['#N/A', 'error-value'],
    ['#BEZUG!', 'error-value'],
    ['=A1', 'formula'],
    ['-K2', 'formula'],
    ['Caf\uFFFD', 'lost-character'],
  ])('%s is a %s', (text, mangling) => {
    expect(findMangling(text, 'label')).toBe(mangling);
  });

  it('is not seen in labels, builds and numbers as they are', () => {
    for (const text of [
      'K2-second 75/5B',
      '86 in 24P.M3',
      'QD+110+UK Rev AA',
      '12E4',
      '1E5',
      '2.14',
      '04',
      'Dec',
      'Mar 3rd floor',
      '3-2',
      '-',
    ]) {
      expect([text, findMangling(text, 'label')]).toEqual([text, undefined]);
    }
    for (const text of ['20240117', '2024-01-17', 'v3.9.0_20231120', '1047']) {
      expect([text, findMangling(text, 'running')]).toEqual([text, undefined]);
    }
  });

  it('is never an approval', () => {
    const approvals = ['=HYPERLINK("x";"M. Aldane")', '04.Feb', '#N/A', '2026-05-03', 'M. Aldane'];
    expect(approvals.map((text) => findMangling(text, 'approval'))).toEqual([
      'formula',
      'date',
      'error-value',
      undefined,
      undefined,
    ]);
    expect(readApproval('2026-05-03')).toBe('yes');
  });

  it('is told from telephone numbers and dashes', () => {
    expect(['+49 30 1234', '- see note', '-5', '+1'].filter(isFormula)).toEqual([]);
    expect(['=1', '@SUM(1)', '+cmd', '-A1'].filter(isFormula)).toEqual(['=1', '@SUM(1)', '+cmd', '-A1']);
    expect(unwrapTextFormula('="a""b"')).toBe('a"b');
    expect(unwrapTextFormula('="a"&"b"')).toBe('="a"&"b"');
  });
});

describe('the words of a cell', () => {
  it('ask for a mode, or for none that is known', () => {
    expect(['in-os', 'IN OS', 'Aktualisierung', 'mise à jour', 'Update'].map(readMode)).toEqual(Array(5).fill('in-os'));
    expect(['Recovery', 'Wiederherstellung', 'récupération', 'Odzyskiwanie'].map(readMode)).toEqual(
      Array(4).fill('recovery'),
    );
    expect(['reset', 'flash', 'neu', 'both', 'recovery?no'].map(readMode)).toEqual(Array(5).fill(undefined));
  });

  it('approve with a name, without one, or not', () => {
    expect(['M. Aldane', 'Aldane, 3 May', 'IT/MA'].map(readApproval)).toEqual(['name', 'name', 'name']);
    expect(['x', 'Ja', 'OK', '✓', '1', '3.5.'].map(readApproval)).toEqual(Array(6).fill('yes'));
    expect(['no', 'offen', 'En attente', '0'].map(readApproval)).toEqual(Array(4).fill('no'));
  });

  // As people of each country answer such a column; common practice, no source.
  it.each([
    ['starts', ['yes', 'Ja', 'oui', 'sí', 'tak', 'Sim', 'ano', 'Kyllä', 'TRUE', 'WAHR', '✓'], 'yes'],
    ['starts', ['no', 'Nein', 'non', 'nie', 'Não', 'nej', 'FALSE', '✗', 'boot loop', 'startet nicht'], 'no'],
    ['starts', ['unknown', 'unbekannt', 'inconnu', '?', '??', 'nobody has looked'], 'unknown'],
    ['air', ['offers', 'Update available', 'bietet an', 'disponible', 'aktualizacja dostępna'], 'offers'],
    ['air', ['fails', 'Fehler', 'échec', 'fallo', 'błąd', 'mislukt'], 'fails'],
    ['air', ['nothing newer', 'à jour', 'nichts neueres', 'nada', 'brak aktualizacji'], 'nothing'],
    ['air', ['offline', 'hors ligne', 'nicht verbunden', 'sin conexión'], 'offline'],
    ['air', ['cannot be online', 'kein Netz', 'brak sieci', 'sem rede'], 'cannot'],
    ['settings', ['yes', 'open', 'ouvert'], 'yes'],
    ['settings', ['no', 'locked', 'gesperrt', 'bloqueado'], 'no'],
    ['settings', ['failed twice', 'zweimal fehlgeschlagen'], 'failed-twice'],
    ['settings', ['maker asks for recovery', 'Hersteller'], 'maker'],
    ['keep', ['yes', 'ja', 'oui'], 'yes'],
    ['keep', ['no', 'copied off', 'gesichert', 'nothing'], 'no'],
  ] as const)('say of %s: %j', (field, texts, answer) => {
    for (const text of texts) expect([text, readAnswer(field, text)]).toEqual([text, answer]);
  });

  it('say nothing of what a panel can still do, or a word that is never guessed', () => {
    for (const field of wayFields) {
      for (const text of ['', '-', '—', 'n/a', 'TBD']) expect([text, readAnswer(field, text)]).toEqual([text, '']);
      for (const text of ['maybe', 'slowly', 'x', '1', '0', 'see notes', 'recovery', 'wipe', 'reset'])
        expect([text, readAnswer(field, text)]).toEqual([text, undefined]);
    }
    // "No" of its own update could mean three things, and "yes" two.
    for (const text of ['yes', 'no', 'ja', 'nein', '✓', '✗', 'online'])
      expect([text, readAnswer('air', text)]).toEqual([text, undefined]);
  });

  it('give each answer that its question has, and no other', () => {
    for (const field of wayFields) {
      const choices: readonly string[] = wayQuestions[field].choices.map(({ value }) => value);
      const known = [
        'yes',
        'no',
        'unknown',
        'offers',
        'fails',
        'nothing',
        'offline',
        'cannot',
        'failed twice',
        'maker',
      ];
      const given = new Set(known.map((text) => readAnswer(field, text)).filter((one) => one !== undefined));
      expect([...given].filter((one) => one !== 'unknown').toSorted()).toEqual(
        choices.filter((one) => one !== 'unknown').toSorted(),
      );
    }
  });

  it('add up', () => {
    expect(['Total', 'Summe:', 'Gesamt 60', 'TOTAL ROOMS', 'Razem'].every(isTotalWord)).toBe(true);
    expect(['Total Fitness Room', 'Summer house', 'Aula'].some(isTotalWord)).toBe(false);
  });
});

describe('a column of a spreadsheet', () => {
  it('has its letters', () => {
    expect([0, 25, 26, 701, 702, 16_383].map(columnLetters)).toEqual(['A', 'Z', 'AA', 'ZZ', 'AAA', 'XFD']);
  });
});
