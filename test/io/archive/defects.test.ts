import { describe, expect, it } from 'vitest';
import { entryOf, type FindingCode } from '../../../src/core/findings/catalogue.ts';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { defects, soundArchives } from '../../fixtures/archives/defects.ts';
import { readBytes } from '../../fixtures/archives/read-bytes.ts';

describe('every fault of an archive has its own finding', () => {
  it.each(defects)('$code: $what', async ({ code, make, also = [], facts = {} }) => {
    const { codes, stops, findings } = await readBytes(make());
    expect(codes.toSorted()).toEqual([code, ...also].sort());
    expect(findings.find((found) => found.code === code)?.facts).toMatchObject(facts);
    if (entryOf(code as FindingCode).severity === 'stop') expect(stops).toContain(code);
    else expect(stops).not.toContain(code);
    for (const found of findings) {
      const texts = Object.values(textsOf(found)).join('\n');
      expect(texts).not.toMatch(/undefined|NaN|\[object/);
      expect(texts).not.toMatch(/[\x00-\x09\x0b-\x1f]/);
    }
  });
});

describe('archives of unusual but sound build pass', () => {
  it.each(Object.entries(soundArchives))('%s', async (_, make) => {
    const { findings, reading, facts } = await readBytes(make());
    expect(findings).toEqual([]);
    expect(reading.entries.length).toBe(facts.entries.filter(({ folder }) => !folder).length);
  });

  it('and of a signing block nothing is said, but of the same bytes without its mark that no file has them', async () => {
    const signed = soundArchives['a signing block']?.() ?? Buffer.alloc(0);
    expect((await readBytes(signed)).codes).toEqual([]);
    signed.write('43', signed.indexOf('APK Sig Block 42') + 14, 'latin1');
    expect((await readBytes(signed)).codes).toEqual(['archive/unnamed-bytes']);
  });
});
