import { describe, expect, it } from 'vitest';
import { checkUpdatePackage } from '../../../../src/core/checks/update/check-update-package.ts';
import type { UpdateContext } from '../../../../src/core/checks/update/update-context.ts';
import { severityOf, textsOf } from '../../../../src/core/findings/finding.ts';
import type { SignatureFacts, UpdatePackageFacts } from '../../../../src/core/update-package/update-package-facts.ts';
import {
  facts,
  family,
  labelled,
  metadata,
  named,
  nothingKnown,
} from '../../../fixtures/update-packages/update-facts.ts';

const codes = (given: UpdatePackageFacts, context: Partial<UpdateContext> = {}): readonly string[] =>
  checkUpdatePackage(given, { ...nothingKnown, ...context })
    .map((found) => found.code)
    .filter((code) => code !== 'update/package' && code !== 'update/not-signed');

describe('data that would be erased', () => {
  const powerwash = {
    payloadProperties: { fileHash: '', fileSize: '', metadataHash: '', metadataSize: '', powerwash: true },
  };

  it.each([
    ['ota-wipe', facts({ wipe: true })],
    ['the protobuf form alone', facts({}, { protobuf: { state: 'read', metadata: { ...metadata, wipe: true } } })],
    ['POWERWASH', facts({}, powerwash)],
  ])('%s stops where the mode keeps data, and is said loudly elsewhere', (_name, given) => {
    expect(codes(given, { keepsData: true })).toContain('update/wipe-breaks-promise');
    for (const keepsData of [false, undefined]) {
      expect(codes(given, { keepsData })).toContain('update/wipes-data');
      expect(codes(given, { keepsData })).not.toContain('update/wipe-breaks-promise');
    }
  });

  it('names every flag', () => {
    const [found] = checkUpdatePackage(facts({ wipe: true }, powerwash), { ...nothingKnown, keepsData: true }).filter(
      (one) => one.code === 'update/wipe-breaks-promise',
    );
    expect(found && textsOf(found).seen).toContain('ota-wipe=yes in META-INF/com/android/metadata, POWERWASH=1 in');
  });

  it('a package that disables devices stops in every mode', () => {
    for (const keepsData of [true, false, undefined]) {
      expect(codes(facts({ type: 'BRICK' }), { keepsData })).toContain('update/brick');
    }
  });

  it('nothing is said of a package that keeps data', () => {
    expect(codes(facts(), { keepsData: true })).toEqual([]);
  });
});

describe('what the panel must run', () => {
  it('an incremental package names its build', () => {
    const given = facts({ preBuilds: ['quillhaven/lantern/lantern75:11/RQ1A/20231201:user/release-keys'] });
    expect(codes(given)).toEqual(['update/incremental']);
    expect(codes(facts({ preBuildIncremental: '20231201' }))).toEqual(['update/incremental']);
  });

  it('a package for certain serial numbers is a caution', () => {
    expect(codes(facts({ serialNumbers: ['Q1', 'Q2'] }))).toEqual(['update/only-serial-numbers']);
  });

  it('a downgrade is a caution', () => {
    expect(codes(facts({ downgrade: true }))).toEqual(['update/downgrade']);
  });
});

describe('the payload of an A/B package', () => {
  it('is missed where the metadata promises it', () => {
    expect(codes(facts({ type: 'AB' }))).toEqual(['update/payload-missing']);
  });

  it('a device must be named in A/B packages only', () => {
    expect(codes(facts({ type: 'AB', preDevices: [] }))).toContain('update/no-device-named');
    expect(codes(facts({ preDevices: [] }))).toEqual([]);
  });
});

describe('claims side by side', () => {
  const lantern = family('lantern', { devices: ['lantern75'] });

  it.each([['20240117'], ['RQ1A'], ['rq1a']])('build %s of the name stands inside', (build) => {
    expect(codes(facts(), { packageReading: named([lantern], build) })).toEqual([]);
  });

  it.each([
    ['V1.02.03', 'quillhaven-1_02_03-release'],
    ['1.02.03', 'V1.02.03'],
    ['1.02.03_20240117', 'v1-02-03.20240117'],
  ])('build %s is the one in %s', (build, inside) => {
    const given = facts({ postBuilds: [], postBuildIncremental: inside });
    expect(codes(given, { packageReading: named([lantern], build) })).toEqual([]);
  });

  it.each([['2024011'], ['0240117'], ['20240118'], ['Q1A']])('build %s of the name does not stand inside', (build) => {
    const context = { packageReading: named([lantern], build, `ln_${build}.zip`), labelReading: labelled([lantern]) };
    const found = checkUpdatePackage(facts(), { ...nothingKnown, ...context }).find(
      (one) => one.code === 'update/build-differs',
    );
    const seen = found === undefined ? '' : textsOf(found).seen;
    expect(seen).toContain(`File name: ln_${build}.zip. Inside: device lantern75, build quillhaven/`);
    expect(seen).toContain('build number 20240117. Label: VX+075+EU.');
  });

  it('says nothing where the name has no build, the inside has none, or nobody reads the name', () => {
    expect(codes(facts(), { packageReading: named([lantern], undefined) })).toEqual([]);
    const silent = facts({ postBuilds: [], postBuildIncremental: undefined });
    expect(codes(silent, { packageReading: named([lantern], '20240118') })).toEqual([]);
    expect(codes(facts(), { packageReading: named([], '20240118') })).toEqual([]);
  });

  it('stops where the family names other devices, by name or by label', () => {
    const other = family('sedge', { devices: ['sedge65', 'sedge75'] });
    expect(codes(facts(), { packageReading: named([other], undefined) })).toEqual(['update/device-differs']);
    expect(codes(facts(), { labelReading: labelled([other]) })).toEqual(['update/device-differs']);
    expect(codes(facts({ preDevices: ['x', 'sedge75'] }), { packageReading: named([other], undefined) })).toEqual([]);
  });

  it('goes by the family that reads both, and by none that names no devices', () => {
    const other = family('sedge', { devices: ['sedge65'] });
    const both = { packageReading: named([other, lantern], undefined), labelReading: labelled([lantern]) };
    expect(codes(facts(), both)).toEqual([]);
    expect(codes(facts(), { packageReading: named([other, family('basalt')], undefined) })).toEqual([]);
  });
});

describe('who signed', () => {
  const fingerprint = 'ab'.repeat(32);
  const certificate = {
    sha256: fingerprint,
    subject: 'CN=Invented signer',
    key: { kind: 'rsa', bits: 2048, exponent: '65537' },
    hash: 'sha256',
  } as const;
  const signature: SignatureFacts = {
    state: 'read',
    hash: 'sha256',
    attributes: false,
    signedBytes: 1,
    answer: 'intact',
    certificate,
    trusted: [],
  };
  const signed = facts({}, { signature });

  it('is known by a fingerprint in the family file, in either case', () => {
    const known = named([family('lantern', { signers: [fingerprint.toUpperCase()] })], undefined);
    expect(codes(signed, { packageReading: known })).toEqual(['update/signer-known']);
  });

  it('is somebody else where the family names others, and missing where nobody signed', () => {
    const others = named([family('lantern', { signers: ['cd'.repeat(32)] })], undefined);
    expect(codes(signed, { packageReading: others })).toEqual(['update/signer-differs']);
    expect(codes(facts(), { packageReading: others })).toEqual(['update/signature-missing']);
    const plain = { ...facts({}, { recognised: false }), text: { state: 'absent' } as const };
    expect(codes(plain, { packageReading: others })).toEqual(['update/signature-missing']);
  });

  it('is a note without anybody to know it, and is never called genuine', () => {
    const [found] = checkUpdatePackage(signed, nothingKnown);
    expect(found?.code).toBe('update/signer-unknown');
    expect(found && severityOf(found)).toBe('note');
    expect(JSON.stringify(found && textsOf(found))).not.toMatch(/genuine|authentic/i);
  });
});

describe('words', () => {
  it('carry nothing out of the package that acts on a terminal, and no line without end', () => {
    const evil = `\u001b[31m${'x'.repeat(100_000)}\u202e`;
    const given = facts({
      type: evil,
      preDevices: Array.from({ length: 50 }, () => evil),
      preBuilds: [evil],
      twice: [{ key: evil, values: [evil, 'b'] }],
    });
    for (const found of checkUpdatePackage(given, nothingKnown)) {
      const { seen } = textsOf(found);
      expect(seen).not.toMatch(/[\u001b\u202e]/);
      expect(seen.length).toBeLessThan(5000);
    }
  });
});
