import { describe, expect, it } from 'vitest';
import { archiveContentFindings } from '../../../src/core/findings/catalogue/archive-content.ts';
import { archiveNameFindings } from '../../../src/core/findings/catalogue/archive-names.ts';
import { archiveStructureFindings } from '../../../src/core/findings/catalogue/archive-structure.ts';
import { entryOf, type FindingCode } from '../../../src/core/findings/catalogue.ts';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { defects, soundArchives } from '../../fixtures/archives/defects.ts';
import { readBytes } from '../../fixtures/archives/read-bytes.ts';

describe('every fault of an archive has its own finding', () => {
  it.each(defects)('$code: $what', async ({ code, make }) => {
    const { codes, stops, findings } = await readBytes(make());
    expect(codes).toContain(code);
    if (entryOf(code as FindingCode).severity === 'stop') expect(stops).toContain(code);
    else expect(stops).toEqual([]);
    for (const found of findings) {
      const texts = Object.values(textsOf(found)).join('\n');
      expect(texts).not.toMatch(/undefined|NaN|\[object/);
      expect(texts).not.toMatch(/[\x00-\x09\x0b-\x1f]/);
    }
  });

  it('has a fixture for every code of structure, content and names', () => {
    const elsewhere = [
      'archive/readers-disagree', // needs a fault in one of the two readers; compared by value in compare-directory-readers.test.ts
      'archive/library-objects', // needs a fault that only the library sees; none is known
      'archive/directory-too-large', // 64 MiB
      'archive/expands-much', // a gigabyte
      'archive/file-too-large-for-fat32',
    ];
    const shown = new Set([...defects.map(({ code }) => code), ...elsewhere]);
    const codes = Object.keys({ ...archiveStructureFindings, ...archiveContentFindings, ...archiveNameFindings });
    expect(codes.filter((code) => !shown.has(code))).toEqual([]);
  });
});

describe('archives of unusual but sound build pass', () => {
  it.each(Object.entries(soundArchives))('%s', async (_, make) => {
    const { findings, stops, reading, facts } = await readBytes(make());
    expect(stops, JSON.stringify(findings)).toEqual([]);
    expect(reading.entries.length).toBe(facts.entries.filter(({ folder }) => !folder).length);
  });
});
