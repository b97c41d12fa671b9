import { describe, expect, it, test } from 'vitest';
import { type Finding, finding } from '../../../src/core/findings/finding.ts';
import { readPackageName } from '../../../src/core/label/read-label.ts';
import { checkExported, checkPlaced, checkRemoved } from '../../../src/core/shelf/check-shelf.ts';
import { addProof, describePackage, describeResult, settledNow } from '../../../src/core/shelf/describe-package.ts';
import type { SignatureFacts, SignerCertificate } from '../../../src/core/update-package/update-package-facts.ts';
import { shelve } from '../../fixtures/shelf/shelved.ts';
import { familyNamed, sampleFamilies } from '../label/families.ts';

const families = await sampleFamilies();
const sedge = familyNamed(families, 'sedge');
const name = 'reed.746_5B_second_K2.zip';

/** What a pass over an archive of this name learned; nothing but the name and the signature is asked for here. */
function answerFor(fileName: string, signature?: SignatureFacts, known = families) {
  const facts = { path: `/d/${fileName}`, fileName, bytes: 7, entries: [], directorySha256: 'd'.repeat(64) };
  const none = { state: 'absent' } as const;
  const inside = signature && {
    ...{ recognised: true, text: none, protobuf: none, payload: undefined, payloadProperties: undefined },
    ...{ propertyFiles: { places: [], unreadable: [] }, signature, trustedGiven: false },
  };
  return { facts, package: readPackageName(fileName, known), digests: undefined, inside };
}

describe('what a record says of a package', () => {
  const nowhere = { from: undefined, note: undefined };
  const whole = { name, bytes: 7, sha256: 'aa', directorySha256: 'd'.repeat(64), family: 'sedge', build: 'reed.746' };
  const unsigned = { state: 'none', fingerprint: null, subject: null };

  it('is its name and bytes, family and build as the name says, and where the person had it from', () => {
    const bare = { ...whole, from: null, note: null, signature: unsigned };
    expect(describePackage(answerFor(name), 'aa', nowhere)).toEqual(bare);
    const from = { from: 'https://support.example/', note: 'a note' };
    expect(describePackage(answerFor(name), 'aa', from)).toEqual({ ...bare, ...from });
  });

  it('names no family and no build where none reads the name, or two do', () => {
    const copy = { ...sedge, family: 'copy' };
    for (const answer of [answerFor('x.zip'), answerFor(name, undefined, [sedge, copy])])
      expect(describePackage(answer, 'aa', nowhere)).toMatchObject({ family: null, build: null });
  });

  const certificate = (letter: string): SignerCertificate => ({
    sha256: letter.repeat(64),
    subject: `CN=${letter}\u0007\n${letter}`,
    key: { kind: 'ec', curve: 'P-256' },
    hash: 'sha256',
  });
  const read = (wish: Partial<SignatureFacts & { state: 'read' }>): SignatureFacts => ({
    ...{ state: 'read', hash: 'sha256', attributes: false, signedBytes: 5, answer: 'intact' },
    ...{ certificate: certificate('a'), trusted: [] },
    ...wish,
  });
  const trusted = (letter: string, verifies: boolean) => ({
    certificate: certificate(letter),
    sameKey: true,
    verifies,
  });
  const signedBy = (letter: string) => [letter.repeat(64), expect.stringMatching(`^CN=${letter}[^\\p{Cc}]*${letter}$`)];

  test.each<[string, SignatureFacts, string, readonly unknown[]]>([
    ['none', { state: 'none' }, 'none', [null, null]],
    ['one that cannot be checked', { state: 'unsupported', what: 'x' }, 'unchecked', [null, null]],
    ['one that is intact', read({}), 'intact', signedBy('a')],
    ['one that is broken', read({ answer: 'broken' }), 'unchecked', [null, null]],
    ['one of nobody', read({ certificate: undefined }), 'unchecked', [null, null]],
    ['a trusted one', read({ trusted: [trusted('b', false), trusted('c', true)] }), 'intact', signedBy('c')],
    ['a trusted one that does not hold', read({ trusted: [trusted('b', false)] }), 'intact', signedBy('a')],
    [
      'a broken one of a trusted key',
      read({ answer: 'broken', trusted: [trusted('b', true)] }),
      'intact',
      signedBy('b'),
    ],
  ])('names a signer only where the signature holds: %s', (_, signature, state, [fingerprint, subject]) => {
    const described = describePackage(answerFor(name, signature), 'aa', nowhere);
    expect(described.signature).toEqual({ state, fingerprint, subject });
  });
});

describe('what a record says of the inspection', { tags: ['doubt-stays'] }, () => {
  const open = finding('archive/no-published-hash', name);
  const unsupported = finding('update/signature-unsupported', name, { what: 'x' });
  const caution = finding('shelf/bridge-first', name, { steps: [], running: '1', target: '2' });
  const note = finding('provenance/address', name, { from: 'https://support.example/', addedAt: 'x' });
  const proof = finding('archive/hash-matches', name, { algorithm: 'SHA-256', from: 'a page' });
  const stop: Finding = { ...finding('shelf/content-missing', name, { id: 'x' }), acceptedBecause: 'so' };
  const told = (findings: readonly Finding[]) => describeResult(findings).findings.map(({ code }) => code);

  it('is what was open, then the rest; of the notes only what proves something', () => {
    expect(told([note, caution, proof, open])).toEqual([open.code, caution.code, proof.code]);
    expect(told([finding('update/signer-known', name, { subject: 'x', fingerprint: 'ff' } as never)])).toHaveLength(1);
    expect(describeResult([note])).toEqual({ verdict: 'ready', findings: [] });
    expect(describeResult([open]).verdict).toBe('unproven');
  });

  it('is as it was said then, with the reason where a person accepted it', () => {
    const [first, second] = describeResult([caution, stop]).findings;
    expect(first).toStrictEqual({
      ...{ code: caution.code, severity: 'caution', subject: name, title: 'a build in between comes first' },
      seen: expect.stringContaining('From 1 to 2'),
    });
    expect(second).toMatchObject({ code: stop.code, severity: 'caution', acceptedBecause: 'so' });
  });

  it('keeps two hundred of the rest, and every doubt', () => {
    expect(told([...Array.from({ length: 300 }, () => caution), open])).toEqual([
      open.code,
      ...Array(200).fill(caution.code),
    ]);
    expect(told(Array.from({ length: 300 }, () => open))).toHaveLength(300);
  });

  const before = (...findings: readonly Finding[]) =>
    shelve(name, families, { result: describeResult(findings) }).record;

  test.each<[string, readonly Finding[], readonly Finding[], readonly string[]]>([
    ['all of it', [open, unsupported], [], [open.code, unsupported.code]],
    ['a part of it', [open, unsupported], [unsupported], [open.code]],
    ['nothing, where all is still open', [open], [open], []],
    ['nothing, where something else is open today', [open], [unsupported], []],
    ['nothing, where one of two is new', [open], [open, unsupported], []],
  ])('is settled by the same checks made again: %s', (_, then, today, settled) => {
    expect(settledNow(before(...then), today)).toEqual(settled);
  });

  it('gets today’s answer, and keeps what was accepted and said of its origin then', () => {
    const result = addProof(describeResult([open, caution, stop]), [proof, caution]);
    expect(result.verdict).toBe('ready');
    expect(result.findings.map(({ code }) => code)).toEqual([proof.code, caution.code, stop.code]);
  });
});

describe('what was done with a package is said', () => {
  const one = shelve(name, families, { bytes: 9 });
  const { sha256 } = one.record;

  it('with what became of it', () => {
    const added = checkPlaced(name, { state: 'added', sha256 });
    expect(added).toEqual({ code: 'shelf/added', subject: name, facts: { sha256 } });
    expect(checkPlaced(name, { state: 'restored' })).toEqual({ code: 'shelf/restored', subject: name, facts: {} });
    const proven = { addedAt: 'x', codes: ['archive/no-published-hash'] };
    expect(checkPlaced(name, { state: 'proven', ...proven })).toMatchObject({
      code: 'shelf/proven-now',
      facts: proven,
    });
    expect(checkRemoved([one])).toEqual([{ code: 'shelf/removed', subject: name, facts: { sha256 } }]);
  });

  it.each([
    ['copied', 'shelf/exported', { to: '/t', bytes: 9 }],
    ['there', 'shelf/export-there', { to: '/t' }],
    ['taken', 'shelf/export-name-taken', { to: '/t' }],
  ] as const)('where it was copied out: %s', (state, code, facts) => {
    expect(checkExported(one, { state, to: '/t' })).toEqual({ code, subject: name, facts });
  });
});
