import { describe, expect, test } from 'vitest';
import { checkFit } from '../../../src/core/checks/fit/check-fit.ts';
import { checkInvisible, checkLabel } from '../../../src/core/checks/fit/check-label.ts';
import { checkLabel as checkAsked } from '../../../src/core/checks/verify/check-label.ts';
import { severityOf, textsOf } from '../../../src/core/findings/finding.ts';
import { readLabel, readPackageName } from '../../../src/core/label/read-label.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import { normaliseLabel } from '../../../src/core/text/label-text.ts';
import { findInvisible } from '../../../src/core/text/visible.ts';
import { readPanelLabel } from '../../../src/workflows/read-panel-label.ts';
import { packageName, panelLabel, sedgeFamily } from '../../fixtures/desk.ts';

const own = { tags: ['read-alike-by-all'] };
const families = await sedgeFamily();
const codesOf = (findings: readonly { readonly code: string }[]): readonly string[] => findings.map(({ code }) => code);

/** Every code point that Unicode says shows nothing, by Node's own tables and without the pattern that is tested. */
const unseen = Array.from({ length: 0x11_0000 }, (_, code) => code)
  .filter((code) => code < 0xd800 || code > 0xdfff)
  .map((code) => String.fromCodePoint(code))
  .filter((character) => /^(\p{Cf}|\p{DI})$/u.test(character) && !/^\p{Nd}$/u.test(character));
/** Prepended_Concatenation_Mark (Unicode 15.1, PropList.txt): of the category Cf, and drawn. */
const drawn = [0x600, 0x601, 0x602, 0x603, 0x604, 0x605, 0x6dd, 0x70f, 0x890, 0x891, 0x8e2, 0x11_0bd, 0x11_0cd];

describe('a character of a label that cannot be seen', () => {
  test('is left out, and that is said with its place, whichever it is', own, () => {
    expect(unseen.length).toBeGreaterThan(4000);
    const silent = unseen.filter((character) => {
      const label = `K2-se${character}cond 75/5B`;
      // A soft hyphen stays: some scanners see it for a dash, and no family reads it.
      const read = character === '\u00ad' ? label : panelLabel;
      return normaliseLabel(label) !== read || checkInvisible(label).length !== 1;
    });
    expect(silent.map((character) => character.codePointAt(0))).toEqual(drawn);
    for (const code of drawn) expect(checkInvisible(`K2-se${String.fromCodePoint(code)}cond 75/5B`)).toEqual([]);
  });

  test('is named, with what stands before it', own, () => {
    const [found] = checkInvisible('\ufeffK2-se\u200fcond 75/5B\u200b');
    expect(found?.code).toBe('label/invisible-characters');
    const seen = found === undefined ? '' : textsOf(found).seen;
    expect(seen).toContain('U+FEFF (byte order mark) at the start');
    expect(seen).toContain('U+200F (right-to-left mark) after "K2-se"');
    expect(seen).toContain('U+200B (zero-width space) after "K2-second 75/5B"');
    expect(seen).toContain('read as "K2-second 75/5B"');
    expect(findInvisible('K2-se\u0007cond').map(({ code }) => code)).toEqual(['U+0007']);
  });

  test('stops where it turns round the order in which the label is shown', own, () => {
    for (const code of [0x202a, 0x202b, 0x202d, 0x202e, 0x2066, 0x2067, 0x2068]) {
      const [found] = checkInvisible(`K2-se${String.fromCodePoint(code)}cond 75/5B`);
      expect([code, found === undefined ? undefined : severityOf(found)]).toEqual([code, 'stop']);
      expect(found?.code).toBe('label/order-changed');
    }
    for (const mark of ['\u200e', '\u200f', '\u061c', '\u200d', '\u00ad', '\ufe0f', '\u3164']) {
      const [found] = checkInvisible(`K2-second${mark} 75/5B`);
      expect(found === undefined ? undefined : severityOf(found)).toBe('caution');
    }
  });

  test('is no finding in what people type: dashes, spaces of any kind, letters of any script', own, () => {
    for (const label of [
      panelLabel,
      'K2–second 75/5B',
      'K2-second\u00a075/5B',
      'K2-second\t75/5B',
      'لوحة ٧٥',
      'パネル',
      'Tafel ß',
      'e\u0301',
    ])
      expect([label, checkInvisible(label)]).toEqual([label, []]);
  });

  test(
    'is said wherever a label is read: alone, from a plate, a second time, against a package, at the stick',
    own,
    () => {
      const odd = 'K2-se\u200fcond 75/5B';
      const told = 'label/invisible-characters';
      expect(codesOf(checkLabel(readLabel(odd, families), families))).toEqual([told, 'label/read']);
      expect(codesOf(checkLabel(readLabel(odd, []), []))).toEqual([told, 'label/no-family']);
      expect(codesOf(readPanelLabel(`Rating 230 V\n${odd}\nS/N 1`, undefined, families).findings)).toContain(told);
      expect(codesOf(readPanelLabel(panelLabel, odd, families).findings)).toContain(told);
      for (const known of [families, []]) {
        const question = {
          label: readLabel(odd, known),
          package: readPackageName(packageName, known),
          families: known,
          familiesNamed: true,
          wipes: true,
        };
        expect(codesOf(checkFit(question))).toContain(told);
      }
      const manifest = {
        label: { text: panelLabel, normalised: panelLabel },
        family: null,
        archive: { parts: null },
      } as unknown as Manifest;
      expect(codesOf(checkAsked(odd, manifest))).toEqual([told, 'verify/same-label']);
      expect(codesOf(checkAsked(panelLabel, manifest))).toEqual(['verify/same-label']);
    },
  );
});
