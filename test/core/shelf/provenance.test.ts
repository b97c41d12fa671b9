import { describe, expect, it } from 'vitest';
import { severityOf } from '../../../src/core/findings/finding.ts';
import { checkProvenance } from '../../../src/core/shelf/check-chosen.ts';
import { checkNameTaken, checkNewName, checkSameBuild } from '../../../src/core/shelf/check-newcomer.ts';
import type { ShelfRecord } from '../../../src/core/shelf/shelf-record.ts';
import { shelve, signedBy } from '../../fixtures/shelf/shelved.ts';
import { sampleFamilies } from '../label/families.ts';

// Trust on first use, and the family file over it: common practice, no source.
const families = await sampleFamilies();
const unsigned: ShelfRecord['signature'] = { state: 'none', fingerprint: null, subject: null };
const name = 'reed.746_5B_second_K2.zip';

function codesFor(signature: ShelfRecord['signature'], before: readonly ShelfRecord['signature'][], listed = false) {
  const known = families.map((family) =>
    listed && family.family === 'sedge' ? { ...family, signers: ['A'.repeat(64), 'b'.repeat(64)] } : family,
  );
  const earlier = before.map((one, at) => shelve(`reed.70${at}_8S_third_home.zip`, known, { signature: one }));
  const origin = { name, family: null, from: 'https://support.example/', signature };
  return checkProvenance(origin, earlier, known).map((found) => `${severityOf(found)} ${found.code}`);
}

describe('the signer of a family', () => {
  it('is remembered from the first signed package', () => {
    expect(codesFor(signedBy('a'), [])).toEqual(['note provenance/signer-first']);
    expect(codesFor(signedBy('a'), [unsigned])).toEqual(['note provenance/now-signed']);
    expect(codesFor(signedBy('a'), [signedBy('a')])).toEqual(['note provenance/signer-same']);
  });

  it('stops where it changed since the last package, also over unsigned ones between', () => {
    expect(codesFor(signedBy('b'), [signedBy('a')])).toEqual(['stop provenance/signer-changed']);
    expect(codesFor(signedBy('b'), [signedBy('a'), unsigned])).toEqual(['stop provenance/signer-changed']);
    expect(codesFor(signedBy('a'), [signedBy('a'), signedBy('b')])).toEqual(['stop provenance/signer-changed']);
  });

  it('stops where the signature is gone; an unsigned one after an unsigned one is nothing new', () => {
    expect(codesFor(unsigned, [signedBy('a')])).toEqual(['stop provenance/signature-gone']);
    expect(codesFor({ ...unsigned, state: 'unchecked' }, [signedBy('a')])).toEqual(['stop provenance/signature-gone']);
    expect(codesFor(unsigned, [unsigned])).toEqual([]);
  });

  it('may change where the family file names both, in either case of its digits', () => {
    expect(codesFor(signedBy('b'), [signedBy('a')], true)).toEqual(['caution provenance/signer-listed']);
    expect(codesFor(signedBy('a'), [], true)).toEqual(['note provenance/signer-same']);
    expect(codesFor(signedBy('c'), [signedBy('a')], true)).toEqual(['stop provenance/signer-changed']);
    expect(codesFor(signedBy('c'), [], true)).toEqual(['note provenance/signer-first']);
  });

  it("is each family's own", () => {
    const other = shelve('basalt_86_24p_m3_r1047.zip', families, { signature: signedBy('b') });
    const origin = { name, family: null, from: 'https://support.example/', signature: signedBy('a') };
    expect(checkProvenance(origin, [other], families).map(({ code }) => code)).toEqual(['provenance/signer-first']);
    const elsewhere = families.map((one) => (one.family === 'basalt' ? { ...one, signers: ['a'.repeat(64)] } : one));
    expect(checkProvenance(origin, [], elsewhere).map(({ code }) => code)).toEqual(['provenance/signer-first']);
  });
});

describe('the address', () => {
  const from = (address: string | null, before: string | null) =>
    checkProvenance(
      { name, family: null, from: address, signature: unsigned },
      [shelve('reed.702_8S_third_home.zip', families, { from: before })],
      families,
    ).map(({ code }) => code);

  it('is missed, and compared by host', () => {
    expect(from(null, null)).toEqual(['provenance/no-address']);
    expect(from('https://support.example/b', 'https://SUPPORT.example:443/a')).toEqual([]);
    expect(from('https://files.example/b', 'https://support.example/a')).toEqual(['provenance/other-host']);
    expect(from('a stick from the maker', 'https://support.example/a')).toEqual([]);
  });
});

describe('names', () => {
  it('are compared as FAT compares them: without regard to case (Microsoft FAT specification 1.03)', () => {
    const there = [shelve(name, families)];
    const codes = (text: string, sha256: string) =>
      checkNameTaken({ name: text, sha256 }, there, false).map(({ code }) => code);
    expect(codes(name.toLowerCase(), 'f'.repeat(64))).toEqual(['shelf/name-taken']);
    expect(codes(name, there[0]?.record.sha256 ?? '')).toEqual([]);
    expect(codes('reed.747_5B_second_K2.zip', 'f'.repeat(64))).toEqual([]);
  });

  it('that no stick can carry, or that the shelf needs itself, are refused', () => {
    for (const bad of ['record.json', 'RECORD.JSON', 'aux.zip', 'a:b.zip', 'a.zip.'])
      expect(checkNewName(bad, families).map(({ code }) => code)).toEqual(['shelf/name-unusable']);
    expect(checkNewName('reed.746_5B_second_K2 (1).zip', families).map(({ code }) => code)).toEqual([
      'shelf/name-unread',
    ]);
    expect(checkNewName(name, families)).toEqual([]);
  });

  it('of one build for the same panels are said', () => {
    const twin = { name: 'lantern-vx-eu-v3.10.2_20240305.zip', sha256: 'e'.repeat(64) };
    const there = ['lantern-vx-eu-V3.10.02_20240305.zip', 'lantern-vx-uk-v3.10.2_20240305.zip'].map((one) =>
      shelve(one, families),
    );
    const found = checkSameBuild(twin, there, families);
    expect(found.map(({ code, facts }) => [code, facts])).toEqual([
      ['shelf/same-build-other-content', { other: 'lantern-vx-eu-V3.10.02_20240305.zip', build: 'v3.10.2_20240305' }],
    ]);
  });
});
