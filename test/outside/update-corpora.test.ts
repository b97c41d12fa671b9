import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { FindingCode } from '../../src/core/findings/catalogue.ts';
import { makeZip } from '../fixtures/update-packages/make-package.ts';
import { propertiesOf } from '../fixtures/update-packages/make-payload.ts';
import { readPackage, readPackageFile } from '../fixtures/update-packages/read-package.ts';

const corpora = process.env.STICKWRIGHT_CORPORA;
const inCorpora = corpora === undefined ? it.skip : it;
const note = corpora === undefined ? ' [did not run: STICKWRIGHT_CORPORA, set to a folder of public test data]' : '';
const testdata = join(corpora ?? '', 'archives/aosp-recovery-old/tests/testdata');
const key = (number: number): string => join(corpora ?? '', `ota/testkey_v${number}.x509.pem`);

// Source: AOSP bootable/recovery tests/component/verifier_test.cpp, and the README of the corpora.
describe("AOSP's own verifier packages", () => {
  for (const version of [1, 2, 3]) {
    for (const certificate of [1, 2, 3]) {
      const verifies = version === certificate;
      inCorpora(
        `otasigned_v${version} with key v${certificate} ${verifies ? 'verifies' : 'fails'}${note}`,
        async () => {
          const run = await readPackageFile(join(testdata, `otasigned_v${version}.zip`), [key(certificate)]);
          expect(run.codes[0]).toBe(verifies ? 'update/signer-known' : 'update/signer-differs');
          expect(run.stops).toEqual(verifies ? [] : ['update/signer-differs']);
        },
      );
    }
  }

  inCorpora(`v1 and v3 hold the same key, and only the hash keeps them apart${note}`, async () => {
    const { facts } = await readPackageFile(join(testdata, 'otasigned_v1.zip'), [key(3)]);
    expect(facts.signature).toMatchObject({ answer: 'intact', trusted: [{ sameKey: true, verifies: false }] });
  });

  inCorpora(`any one of several trusted certificates is enough${note}`, async () => {
    const run = await readPackageFile(join(testdata, 'otasigned_v2.zip'), [key(1), key(2), key(3)]);
    expect(run.stops).toEqual([]);
  });

  const withoutSigner: readonly (readonly [file: string, signature: FindingCode | undefined])[] = [
    ['otasigned_v1.zip', 'update/signer-unknown'],
    ['otasigned_v2.zip', 'update/signer-unknown'],
    ['otasigned_v3.zip', 'update/signer-unknown'],
    ['alter-footer.zip', 'update/signature-footer-broken'],
    ['random.zip', undefined],
    ['unsigned.zip', undefined],
    ['ziptest_valid.zip', undefined],
  ];
  for (const [file, code] of withoutSigner) {
    inCorpora(`${file} without a trusted certificate: ${code ?? 'nothing to say'}${note}`, async () => {
      const { codes } = await readPackageFile(join(testdata, file));
      expect(codes[0]).toBe(code);
    });
  }

  for (const file of ['random.zip', 'unsigned.zip', 'ziptest_valid.zip']) {
    inCorpora(`${file} fails where a signer is demanded${note}`, async () => {
      expect((await readPackageFile(join(testdata, file), [key(1)])).stops).toEqual(['update/signature-missing']);
    });
  }
});

// Source: the README of the corpora; the A/B package is made by AOSP's own sample updater tests.
describe('AOSP payloads', () => {
  inCorpora(`the small A/B package agrees with its properties${note}`, async () => {
    const { facts, codes } = await readPackageFile(join(corpora ?? '', 'ota/ota_002_package.zip'));
    expect(facts.payload).toMatchObject({ bytes: 1392, method: 0, header: { metadataBytes: 563, manifestBytes: 539 } });
    expect(codes).not.toContain('update/payload-differs');
    const partitions = facts.payload?.header.state === 'read' ? facts.payload.header.manifest : undefined;
    expect(partitions).toMatchObject({
      partitions: ['boot', 'system', 'vendor', 'bootloader', 'modem'].map((name) => ({ name, bytes: 4096 })),
    });
  });

  inCorpora(`the full payload has the hash and sizes that openssl gives${note}`, async () => {
    const payload = readFileSync(join(corpora ?? '', 'ota/full_payload.bin'));
    const zip = await makeZip([
      { name: 'payload_properties.txt', content: propertiesOf(payload) },
      { name: 'payload.bin', content: payload },
    ]);
    const { facts, stops } = await readPackage(zip);
    expect(facts.payload).toMatchObject({
      bytes: 2658,
      fileHash: 'EgTYgwQHRHfppfPaEfc7QqThOWhSEnPsAJoBj/ZmE1s=',
      header: { metadataBytes: 281 },
    });
    expect(stops).toEqual([]);
  });
});
