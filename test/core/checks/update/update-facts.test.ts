import { describe, expect, it, test } from 'vitest';
import { checkUpdatePackage } from '../../../../src/core/checks/update/check-update-package.ts';
import { candidateFamilies } from '../../../../src/core/checks/update/update-context.ts';
import type { MetadataReading } from '../../../../src/core/update-package/metadata.ts';
import type {
  PayloadFacts,
  PayloadHeaderFacts,
  SignatureFacts,
  SignerCertificate,
  UpdatePackageFacts,
} from '../../../../src/core/update-package/update-package-facts.ts';
import {
  facts,
  family,
  labelled,
  metadata,
  named,
  nothingKnown,
} from '../../../fixtures/update-packages/update-facts.ts';

/** What is said of it, but for what is said of any such package that is sound. */
const said = (given: UpdatePackageFacts, context: Partial<typeof nothingKnown> = {}) =>
  checkUpdatePackage(given, { ...nothingKnown, ...context })
    .filter(({ code }) => code !== 'update/package' && code !== 'update/not-signed')
    .map(({ code, facts: of }) => [code, of]);

describe('the two forms of the metadata', () => {
  const protobuf = (more: Partial<MetadataReading> = {}): Partial<UpdatePackageFacts> => ({
    protobuf: { state: 'read', metadata: { ...metadata, ...more } },
  });

  it('agree, also where one says nothing and the other a zero, and in another order', () => {
    expect(said(facts({}, protobuf()))).toEqual([]);
    expect(
      said(facts({ preBuilds: [], requiredCacheBytes: undefined }, protobuf({ requiredCacheBytes: '0' }))),
    ).toEqual([]);
    expect(said(facts({ postBuilds: ['a', 'b'] }, protobuf({ postBuilds: ['b', 'a'] })))).toEqual([]);
    // The text form has no word for it (ota_utils.py, BuildLegacyOtaMetadata).
    expect(said(facts({ type: undefined }, protobuf({ type: 'BRICK' }))).map(([code]) => code)).toEqual([
      'update/brick',
    ]);
  });

  test.each<readonly [string, Partial<MetadataReading>, string, string]>([
    ['ota-type', { type: 'AB' }, 'BLOCK', 'AB'],
    ['ota-wipe', { wipe: true }, '', 'yes'],
    ['ota-downgrade', { downgrade: true }, '', 'yes'],
    ['pre-device', { preDevices: ['b', 'a'] }, 'lantern75', 'a|b'],
    ['pre-build', { preBuilds: ['x'] }, '', 'x'],
    ['pre-build-incremental', { preBuildIncremental: '1' }, '', '1'],
    ['post-build', { postBuilds: ['x'] }, metadata.postBuilds.join(), 'x'],
    ['post-build-incremental', { postBuildIncremental: undefined }, '20240117', ''],
    ['post-timestamp', { postTimestamp: '0' }, '1705485600', ''],
    ['post-sdk-level', { postSdkLevel: undefined }, '30', ''],
    ['post-security-patch-level', { postSecurityPatchLevel: undefined }, '2024-01-05', ''],
    ['ota-required-cache', { requiredCacheBytes: '9' }, '', '9'],
  ])('differ in %s', (field, more, text, other) => {
    expect(said(facts({}, protobuf(more)))).toContainEqual([
      'update/metadata-forms-differ',
      { fields: [{ field, text, protobuf: other }] },
    ]);
  });

  it('are missing, unreadable or too large', () => {
    const absent = { state: 'absent' } as const;
    const forms = (text: UpdatePackageFacts['text'], other: UpdatePackageFacts['protobuf'] = absent) =>
      said({ ...facts(), text, protobuf: other });
    expect(forms(absent)).toEqual([['update/metadata-missing', {}]]);
    expect(forms({ state: 'unreadable' })).toEqual([['update/metadata-unreadable', {}]]);
    expect(forms({ state: 'too-large', bytes: 9 })).toEqual([['update/metadata-too-large', { bytes: 9 }]]);
    expect(forms(absent, { state: 'unreadable' })).toEqual([['update/metadata-unreadable', {}]]);
    expect(forms(absent, { state: 'read', metadata })).toEqual([]);
  });

  it('of an A/B package name a device in one of them', () => {
    const ab = { payload: undefined, payloadProperties: undefined } as const;
    const codesOf = (text: Partial<MetadataReading>, other: Partial<MetadataReading>) =>
      said(facts({ type: 'AB', ...text }, { ...ab, ...protobuf({ type: 'AB', ...other }) })).map(([code]) => code);
    expect(codesOf({}, { preDevices: [] })).not.toContain('update/no-device-named');
    expect(codesOf({ preDevices: [] }, { preDevices: [] })).toContain('update/no-device-named');
    const payload = { method: 0, bytes: 1, fileHash: 'F', header: { state: 'other-version', version: '3' } } as const;
    expect(said(facts({ preDevices: [] }, { payload })).map(([code]) => code)).toContain('update/no-device-named');
    expect(codesOf({ preDevices: [] }, { type: 'BLOCK', preDevices: [] })).toContain('update/no-device-named');
    const none = { ...facts({}, { payload }), text: { state: 'absent' } } as UpdatePackageFacts;
    expect(said(none).map(([code]) => code)).not.toContain('update/no-device-named');
  });

  it('say a thing twice: the first ten are told', () => {
    const twice = Array.from({ length: 12 }, (_, at) => ({ key: `k${at}`, values: ['a', 'b'] }));
    const found = said(facts({ twice }));
    expect(found).toHaveLength(10);
    expect(found[0]).toEqual(['update/metadata-key-twice', { key: 'k0', values: ['a', 'b'] }]);
  });

  it('are told in lines, with nothing where they say nothing', () => {
    const lines = (more: Partial<MetadataReading>) =>
      checkUpdatePackage(facts(more), nothingKnown).flatMap(({ code, facts: of }) =>
        code === 'update/package' ? (of as { lines: readonly { name: string; value: string }[] }).lines : [],
      );
    expect(lines({ preBuilds: ['x', 'y'] }).map(({ name, value }) => `${name}: ${value}`)).toEqual([
      'type: BLOCK',
      'for device: lantern75',
      `leads to build: ${metadata.postBuilds.join()}`,
      'build number: 20240117',
      'made: 2024-01-17T10:00:00Z',
      'security patch level: 2024-01-05',
      'starts from build: x, y',
    ]);
    expect(lines({ preBuildIncremental: '7' }).at(-1)).toEqual({ name: 'starts from build', value: '7' });
    for (const text of ['soon', '1705485600s', 's1705485600'])
      expect(lines({ postTimestamp: text })).toContainEqual({ name: 'made', value: text });
    const silent = { type: undefined, preDevices: [], postBuilds: [], postBuildIncremental: undefined };
    expect(lines({ ...silent, postTimestamp: undefined, postSecurityPatchLevel: undefined })).toEqual([]);
  });
});

describe('a payload', () => {
  const properties = { fileHash: 'F', fileSize: '9', metadataHash: 'M', metadataSize: '4', powerwash: false };
  const partitions = (count: number, left = 0) =>
    ({
      state: 'read',
      partitions: Array.from({ length: count }, (_, at) => ({ name: `p${at}`, bytes: 1 })),
      partitionsLeftOut: left,
      minorVersion: 0,
    }) as never;
  const header = (manifest: unknown = partitions(0)): PayloadHeaderFacts =>
    ({
      state: 'read',
      manifestBytes: 7,
      signatureBytes: 0,
      metadataBytes: 4,
      metadataHash: 'M',
      manifest,
    }) as PayloadHeaderFacts;
  const ask = (more: Partial<PayloadFacts> = {}, stated: UpdatePackageFacts['payloadProperties'] = properties) =>
    said(
      facts(
        {},
        {
          payload: { method: 0, bytes: 9, fileHash: 'F', header: header(), ...more },
          payloadProperties: stated,
        },
      ),
    );

  test.each<readonly [string, () => ReturnType<typeof ask>, readonly unknown[]]>([
    ['is as its properties say', () => ask(), []],
    ['is compressed', () => ask({ method: 8 }), [['update/payload-compressed', { method: 8 }]]],
    [
      'has another hash',
      () => ask({ fileHash: 'G' }),
      [['update/payload-differs', { key: 'FILE_HASH', stated: 'F', actual: 'G' }]],
    ],
    [
      'has another size',
      () => ask({ bytes: 8 }),
      [['update/payload-differs', { key: 'FILE_SIZE', stated: '9', actual: '8' }]],
    ],
    [
      'has other metadata',
      () => ask({ header: { ...header(), metadataBytes: 5, metadataHash: 'N' } as PayloadHeaderFacts }),
      [
        ['update/payload-differs', { key: 'METADATA_HASH', stated: 'M', actual: 'N' }],
        ['update/payload-differs', { key: 'METADATA_SIZE', stated: '4', actual: '5' }],
      ],
    ],
    [
      'has properties that say half',
      () => ask({ bytes: 8 }, { ...properties, fileHash: undefined, metadataSize: undefined }),
      [
        ['update/payload-differs', { key: 'FILE_SIZE', stated: '9', actual: '8' }],
        ['update/payload-properties-incomplete', { missing: ['FILE_HASH', 'METADATA_SIZE'] }],
      ],
    ],
    [
      'is none',
      () => ask({ header: { state: 'not-a-payload', firstBytes: 'PK' } }),
      [['update/payload-not-one', { firstBytes: 'PK' }]],
    ],
    [
      'is of another version',
      () => ask({ header: { state: 'other-version', version: '3' } }),
      [['update/payload-version', { version: '3' }]],
    ],
    [
      'is cut off',
      () => ask({ header: { state: 'cut-off', announcedBytes: '99' } }),
      [['update/payload-cut-off', { bytes: 9, announcedBytes: '99' }]],
    ],
    [
      'has a manifest that cannot be read',
      () => ask({ header: header({ state: 'unreadable' }) }),
      [['update/payload-manifest-unreadable', {}]],
    ],
    [
      'has a manifest that is too large',
      () => ask({ header: header({ state: 'too-large' }) }),
      [['update/payload-manifest-too-large', { bytes: 7 }]],
    ],
    [
      'names its partitions',
      () => ask({ header: header(partitions(1)) }),
      [['update/payload-partitions', { partitions: [{ name: 'p0', bytes: 1 }], leftOut: 0 }]],
    ],
  ])('%s', (_, found, expected) => {
    expect(found()).toEqual(expected);
  });

  it('names a hundred partitions, and says how many there are beside', () => {
    const [found] = ask({ header: header(partitions(103, 5)) });
    expect(found?.[1]).toMatchObject({ leftOut: 8 });
    expect(found?.[1]).toHaveProperty('partitions.length', 100);
  });

  it('may lack its properties, or be missed by them, or by the type', () => {
    const missing = ['update/payload-properties-missing', {}];
    const payload = { method: 0, bytes: 9, fileHash: 'F', header: header() };
    expect(said(facts({}, { payload }))).toEqual([missing]);
    expect(said(facts({}, { payloadProperties: properties }))).toEqual([
      ['update/payload-missing', { because: 'properties' }],
    ]);
    expect(said(facts({ type: 'AB' }))).toEqual([['update/payload-missing', { because: 'type' }]]);
  });

  it('that starts from another build says so, where the metadata does not name it', () => {
    const incremental = {
      ...header(),
      manifest: { ...(partitions(0) as object), minorVersion: 6 },
    } as PayloadHeaderFacts;
    expect(ask({ header: incremental })).toEqual([['update/incremental-base-unknown', { minorVersion: 6 }]]);
    const named = said(
      facts(
        { preBuilds: ['x'] },
        { payload: { method: 0, bytes: 9, fileHash: 'F', header: incremental }, payloadProperties: properties },
      ),
    );
    expect(named).toEqual([['update/incremental', { builds: ['x'], incremental: undefined }]]);
    expect(ask({ header: header({ state: 'unreadable' }) }).map(([code]) => code)).toEqual([
      'update/payload-manifest-unreadable',
    ]);
  });
});

describe('the places that the metadata names', () => {
  const stated = { name: 'payload.bin', offset: 10, bytes: 20 };
  const place = (actual: object | undefined, list = 'ota-property-files') => ({ list, stated, actual }) as never;
  const ask = (...places: readonly never[]) => said(facts({}, { propertyFiles: { places, unreadable: [] } }));
  const right = { offset: 10, bytes: 20, stored: true };
  const problems = (actual: string) => [
    ['update/property-files-differ', { problems: [{ name: 'payload.bin', stated: '10:20', actual }] }],
  ];

  it('are right, or not, and in what', () => {
    expect(ask(place(right))).toEqual([]);
    expect(ask(place({ ...right, offset: 11 }))).toEqual(problems('11:20'));
    expect(ask(place({ ...right, bytes: 21 }))).toEqual(problems('10:21'));
    expect(ask(place({ ...right, stored: false }))).toEqual(problems('10:20, and compressed'));
    expect(ask(place(undefined))).toEqual(problems('not there'));
  });

  it('are told list by list, the first ten of each', () => {
    const many = Array.from({ length: 12 }, () => place(undefined));
    const found = ask(...many, place(undefined, 'other'), place(right, 'other'));
    expect(found.map(([, of]) => (of as { problems: unknown[] }).problems.length)).toEqual([10, 1]);
    expect(said(facts({}, { propertyFiles: { places: [], unreadable: ['x'] } }))).toEqual([
      ['update/property-files-unreadable', {}],
    ]);
  });
});

describe('a signature', () => {
  const certificate: SignerCertificate = {
    sha256: 'ab'.repeat(32),
    subject: 'CN=Invented',
    key: { kind: 'rsa', bits: 2048, exponent: '65537' },
    hash: 'sha256',
  };
  const other = { ...certificate, sha256: 'cd'.repeat(32), subject: 'CN=Other' };
  type Read = Extract<SignatureFacts, { state: 'read' }>;
  const read: Read = {
    ...{ state: 'read', hash: 'sha256', attributes: false, signedBytes: 1, answer: 'intact' },
    ...{ certificate, trusted: [] },
  };
  const ask = (signature: SignatureFacts, trustedGiven = false, signers?: string[]) =>
    said(
      facts({}, { signature, trustedGiven }),
      signers === undefined ? {} : { labelReading: labelled([family('lantern', { signers })]) },
    );
  const shown = { fingerprint: certificate.sha256, subject: 'CN=Invented' };
  const trust = (of: SignerCertificate, verifies: boolean, sameKey = false) => ({ certificate: of, verifies, sameKey });

  test.each<readonly [string, () => ReturnType<typeof ask>, readonly unknown[]]>([
    ['of nobody, where one was asked for', () => ask({ state: 'none' }, true), [['update/signature-missing', {}]]],
    [
      'that cannot be read',
      () => ask({ state: 'unreadable', problem: 'x' }),
      [['update/signature-unreadable', { problem: 'x' }]],
    ],
    [
      'of another kind',
      () => ask({ state: 'unsupported', what: 'DSA' }),
      [['update/signature-unsupported', { what: 'DSA' }]],
    ],
    ['of a signer whom nobody named', () => ask(read), [['update/signer-unknown', shown]]],
    [
      'of a signer whom a person trusts',
      () => ask({ ...read, trusted: [trust(certificate, true)] }, true),
      [['update/signer-known', shown]],
    ],
    [
      'of another signer than a person trusts',
      () => ask({ ...read, trusted: [trust(other, false)] }, true),
      [['update/signer-differs', { signer: shown, expected: [other.sha256], onlyHashDiffers: false }]],
    ],
    [
      'of the trusted key under another hash',
      () => ask({ ...read, trusted: [trust(other, false, true)] }, true),
      [['update/signer-differs', { signer: shown, expected: [other.sha256], onlyHashDiffers: true }]],
    ],
    [
      'of another signer than the family names',
      () => ask(read, false, [other.sha256]),
      [['update/signer-differs', { signer: shown, expected: [other.sha256], onlyHashDiffers: false }]],
    ],
    [
      'of the trusted one, where the family names another',
      () => ask({ ...read, trusted: [trust(certificate, true)] }, true, [other.sha256]),
      [['update/signer-differs', { signer: shown, expected: [other.sha256], onlyHashDiffers: false }]],
    ],
    [
      'of the one whom the family names',
      () => ask(read, false, [certificate.sha256]),
      [['update/signer-known', shown]],
    ],
    ['where the family names nobody', () => ask(read, false, []), [['update/signer-unknown', shown]]],
    [
      'with no certificate, and nobody to ask',
      () => ask({ ...read, answer: 'without-certificate', certificate: undefined }),
      [['update/signature-without-certificate', {}]],
    ],
    [
      'with no certificate, by a key that is trusted',
      () =>
        ask(
          { ...read, answer: 'without-certificate', certificate: undefined, trusted: [trust(certificate, true)] },
          true,
        ),
      [['update/signer-known', shown]],
    ],
    [
      'with no certificate, by no key that is trusted',
      () =>
        ask({ ...read, answer: 'without-certificate', certificate: undefined, trusted: [trust(other, false)] }, true),
      [['update/signer-differs', { signer: undefined, expected: [other.sha256], onlyHashDiffers: false }]],
    ],
    [
      'whose certificate is damaged',
      () => ask({ ...read, answer: 'certificate-damaged' }),
      [['update/signature-certificate-damaged', {}]],
    ],
    [
      'that is broken',
      () => ask({ ...read, answer: 'broken' }),
      [['update/signature-broken', { subject: 'CN=Invented' }]],
    ],
    [
      'that is broken by the certificate inside, and holds by one that is trusted',
      () => ask({ ...read, answer: 'broken', trusted: [trust(other, true)] }, true),
      [['update/signature-certificate-damaged', {}]],
    ],
  ])('%s', (_, found, expected) => {
    expect(found()).toEqual(expected);
  });

  it('with a footer that is broken', () => {
    const found = ask({ state: 'footer-broken', problem: 'marker' });
    expect(found).toEqual([['update/signature-footer-broken', { problem: 'marker' }]]);
  });

  it('is missing from an update package without a word against it, and from another file without a word', () => {
    const codes = (recognised: boolean) =>
      checkUpdatePackage({ ...facts(), recognised }, nothingKnown).map(({ code }) => code);
    expect(codes(true)).toContain('update/not-signed');
    expect(codes(false)).toEqual([]);
  });

  it('of a signer whom one family names, where another takes any', () => {
    const readings = (signers: string[]) => named([family('a', { signers }), family('b')], undefined);
    const of = (signers: string[]) => said(facts({}, { signature: read }), { packageReading: readings(signers) });
    expect(of([other.sha256])).toEqual([['update/signer-unknown', shown]]);
    expect(of([other.sha256, certificate.sha256])).toEqual([['update/signer-known', shown]]);
  });

  it('of one key of several under another hash', () => {
    const trusted = [trust(other, false), trust(other, false, true)];
    expect(ask({ ...read, trusted }, true)[0]?.[1]).toMatchObject({ onlyHashDiffers: true });
    expect(
      ask({ ...read, trusted: [trust(certificate, true), trust(other, false, true)] }, true, [other.sha256])[0]?.[1],
    ).toEqual({
      signer: shown,
      expected: [other.sha256],
      onlyHashDiffers: false,
    });
  });

  it('by another trusted key than that of the certificate inside is shown by that certificate', () => {
    const found = ask({ ...read, trusted: [trust(other, true)] }, true, [certificate.sha256]);
    expect(found).toEqual([['update/signer-known', { fingerprint: other.sha256, subject: 'CN=Other' }]]);
  });

  it('with no certificate is not that of a signer whom the family demands', () => {
    const bare = { ...read, answer: 'without-certificate', certificate: undefined } as const;
    expect(ask({ ...bare, trusted: [trust(other, false)] }, true, [certificate.sha256])[0]?.[1]).toMatchObject({
      signer: undefined,
    });
  });

  it('is demanded only where every family that it may be for names signers', () => {
    const readings = [family('a', { signers: [other.sha256] }), family('b')];
    const both = said(facts({}, { signature: { state: 'none' } }), { packageReading: named(readings, undefined) });
    expect(both).toEqual([]);
  });

  const form = (more: Partial<Read>, key: Partial<SignerCertificate> = {}) =>
    ask({ ...read, certificate: { ...certificate, ...key }, ...more })
      .slice(1)
      .map(([code, of]) =>
        code === 'update/signature-form' ? (of as { reasons: string[] }).reasons.join('; ') : code,
      );
  const rsa = (bits: number, exponent: string) => ({ key: { kind: 'rsa', bits, exponent } }) as const;
  const ec = (curve: string) => ({ key: { kind: 'ec', curve } }) as const;
  // Source: AOSP bootable/recovery install/verifier.cpp.
  test.each<readonly [string, () => ReturnType<typeof form>, readonly (string | RegExp)[]]>([
    ['SHA-256', () => form({}), []],
    ['SHA-1', () => form({ hash: 'sha1' }, { hash: 'sha1' }), ['update/signature-weak']],
    ['SHA-512', () => form({ hash: 'sha512' }), [/hash is SHA-512$/]],
    [
      'SHA-1 beside a certificate with SHA-256',
      () => form({ hash: 'sha1' }),
      ['update/signature-weak', /SHA-1 where .* SHA-256$/],
    ],
    ['SHA-256 beside a certificate of no known hash', () => form({}, { hash: undefined }), []],
    ['signed attributes', () => form({ attributes: true }), [/signed attributes/]],
    ['RSA of 4096 bits, exponent 3', () => form({}, rsa(4096, '3')), []],
    ['RSA of 1024 bits', () => form({}, rsa(1024, '3')), [/1024 bits and exponent 3$/]],
    ['RSA of exponent 17', () => form({}, rsa(2048, '17')), [/2048 bits and exponent 17$/]],
    ['P-256', () => form({}, ec('prime256v1')), []],
    ['P-384', () => form({}, ec('secp384r1')), [/secp384r1/]],
    [
      'P-256 with SHA-1',
      () => form({ hash: 'sha1' }, { ...ec('prime256v1'), hash: 'sha1' }),
      ['update/signature-weak', /elliptic-curve/],
    ],
  ])('by its form: %s', (_, found, expected) => {
    expect(found()).toEqual(expected.map((one) => (typeof one === 'string' ? one : expect.stringMatching(one))));
  });
});

describe('claims, once more', () => {
  const lantern = family('lantern', { devices: ['lantern75'] });

  it('show what the name, the inside and the label say', () => {
    const other = family('sedge', { devices: ['sedge65'] });
    const context = { packageReading: named([other], '7', 'sedge_7.zip'), labelReading: labelled([other]) };
    const sides = {
      fileName: 'sedge_7.zip',
      inside: ['device lantern75', `build ${metadata.postBuilds.join()}`, 'build number 20240117'],
      label: 'VX+075+EU',
    };
    expect(said(facts(), context)).toEqual([
      ['update/device-differs', { ...sides, devices: ['sedge65'] }],
      ['update/build-differs', { ...sides, build: '7' }],
    ]);
    const silent = { postBuilds: [], postBuildIncremental: undefined, preDevices: ['x'] };
    expect(said(facts(silent), context)[0]?.[1]).toMatchObject({ inside: ['device x'] });
  });

  it.each([
    ['1.2', '1.2.3', true, 'a part of it, up to where a word ends'],
    ['1.2', '11.2', false, 'not where it begins in the middle of a word'],
    ['1.2', 'v11.2 and 1.2', true, 'further on'],
    ['1.2', 'rev1.2', false, 'a v that belongs to another word'],
    ['v1.2', 'V1.2', true, 'the same'],
    ['vx', 'vx', true, 'a v that is no version'],
    ['.', '..', true, 'nothing but what separates'],
    ['1_.2', '1 - 2', true, 'whatever separates its parts, and however often'],
    ['rev2', 'rev2', true, 'a v before a digit, inside a word'],
    ['', '7', false, 'nothing'],
  ])('build %s in %s: %s (%s)', (build, inside, stands) => {
    const given = facts({ postBuilds: [inside], postBuildIncremental: undefined });
    const found = said(given, { packageReading: named([lantern], build) }).map(([code]) => code);
    expect(found).toEqual(stands ? [] : ['update/build-differs']);
  });

  it('are compared in the first thousand characters', () => {
    const given = (spaces: number) =>
      facts({ postBuilds: [`${'x'.repeat(spaces)} 7`], postBuildIncremental: undefined });
    const context = { packageReading: named([lantern], '7') };
    expect([said(given(998), context).length, said(given(999), context).length]).toEqual([0, 1]);
  });

  it('of one build are enough where two families read the name', () => {
    const readings = named([lantern, lantern], '7').readings.concat(named([lantern], '20240117').readings);
    expect(said(facts(), { packageReading: { fileName: 'x.zip', readings } })).toEqual([]);
    const stranger = family('sedge', { devices: ['lantern75'] });
    const both = {
      fileName: 'x.zip',
      readings: [...named([stranger], '20240117').readings, ...named([lantern], '7').readings],
    };
    expect(
      said(facts(), { packageReading: both, labelReading: labelled([lantern, family('x')]) }).map(([code]) => code),
    ).toEqual(['update/build-differs']);
  });

  it('are right by the number alone, where no build says it', () => {
    const context = { packageReading: named([lantern], '20240117') };
    expect(said(facts({ postBuilds: ['other'] }), context)).toEqual([]);
    expect(said(facts({ postBuilds: ['other'], postBuildIncremental: undefined }), context)).toHaveLength(1);
  });

  it('of nobody’s families are compared with none', () => {
    expect(candidateFamilies(nothingKnown)).toEqual([]);
    const byLabel = { ...nothingKnown, labelReading: labelled([lantern]) };
    expect(candidateFamilies(byLabel)).toEqual([lantern]);
  });

  it('of a package that names no device are compared with none', () => {
    expect(said(facts({ preDevices: [] }), { packageReading: named([lantern], undefined) })).toEqual([]);
  });
});
