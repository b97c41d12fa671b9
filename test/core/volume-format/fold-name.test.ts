import { describe, expect, test } from 'vitest';
import { ToolError } from '../../../src/core/model/tool-error.ts';
import { fatNameProblem, foldName } from '../../../src/core/volume-format/fat-name.ts';
import { makeMemoryFat, openMemory } from '../../fixtures/volumes/open-memory.ts';

/** Every letter of one UTF-16 unit that has another case. */
const letters = Array.from({ length: 0x10000 }, (_, at) => String.fromCharCode(at)).filter(
  (unit) => (unit.toUpperCase() !== unit || unit.toLowerCase() !== unit) && fatNameProblem(`${unit}x`) === undefined,
);

describe('names as FAT folds them', () => {
  test('one unit stays one unit, and no letter beyond ASCII becomes one of ASCII', {
    tags: ['read-alike-by-all'],
  }, () => {
    expect(letters.length).toBeGreaterThan(2000);
    for (const letter of letters) {
      const folded = foldName(letter);
      expect(folded).toHaveLength(1);
      expect(foldName(folded)).toBe(folded);
      if (letter > '\x7f') expect(folded > '\x7f').toBe(true);
    }
    const different = ['s\u017f', 'iı', 'k\u212a', 'ßẞ', 'å\u212b', 'ﬁF'];
    for (const [one = '', other = ''] of different) expect(foldName(one), one).not.toBe(foldName(other));
    expect(foldName('straße.img')).not.toBe(foldName('STRASSE.IMG'));
    expect(foldName('sedge_Ébène.img')).toBe(foldName('SEDGE_éBÈNE.IMG'));
  });

  // FatFs has a table of its own (ff_wtoupper), which nobody here wrote.
  test('what FatFs takes for one name folds alike: no collision is missed', {
    tags: ['read-alike-by-all'],
  }, async () => {
    const device = await makeMemoryFat(16 * 2 ** 20, { kind: 'fat16', clusterBytes: 2048, partitioned: false });
    const volume = await openMemory(device);
    const made = new Set<string>();
    let taken = 0;
    let wider = 0;
    try {
      for (const [at, letter] of letters.entries()) {
        const folder = `letters ${Math.floor(at / 4096)}`;
        if (at % 4096 === 0) await volume.makeFolder(folder);
        const isMade = await volume.makeFolder(`${folder}/${letter}x`).then(
          () => true,
          (error: unknown) => {
            if (!(error instanceof ToolError) || error.code !== 'stick/name-taken') throw error;
            return false;
          },
        );
        if (!isMade) taken += 1;
        if (!isMade) expect(made.has(foldName(`${folder}/${letter}x`)), `${letter} ${letter.charCodeAt(0)}`).toBe(true);
        else if (made.has(foldName(`${folder}/${letter}x`))) wider += 1;
        made.add(foldName(`${folder}/${letter}x`));
      }
    } finally {
      await volume.close();
    }
    expect(taken).toBeGreaterThan(500);
    // Letters that got their case after the table was made; a collision too many only stops.
    expect(wider).toBeLessThan(taken);
  });
});
