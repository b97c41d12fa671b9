import fc from 'fast-check';
import { describe, expect } from 'vitest';
import { parseMetadataText, parsePropertyFiles } from '../../../src/core/update-package/metadata.ts';
import { parseFooter } from '../../../src/core/update-package/parse-footer.ts';
import { parseMetadataProtobuf } from '../../../src/core/update-package/parse-metadata-protobuf.ts';
import { parsePayloadManifest } from '../../../src/core/update-package/parse-payload.ts';
import { readCms } from '../../../src/io/update-package/read-cms.ts';
import { describeCertificate } from '../../../src/io/update-package/read-signers.ts';
import { watchPayload } from '../../../src/io/update-package/watch-payload.ts';
import { makeZip, metadataName, metadataText, usualMetadata } from '../../fixtures/update-packages/make-package.ts';
import { makeManifest, makePayload, propertiesOf } from '../../fixtures/update-packages/make-payload.ts';
import { readPackage } from '../../fixtures/update-packages/read-package.ts';
import { derOf, makeSigner, signBytes, signPackage } from '../../fixtures/update-packages/sign-package.ts';
import { needs } from '../../outside/needs.ts';

const it = needs({ openssl: 'openssl' });

/** A fixed seed, so that a failure comes again; the counts keep the whole file within some seconds. */
const runs = (numRuns: number) => ({ seed: 20240117, numRuns });

/** A few bytes of something sound replaced, or a piece of it cut out, doubled, or cut off. */
const mutated = (sound: Uint8Array) =>
  fc.oneof(
    fc.array(fc.tuple(fc.nat(sound.length - 1), fc.nat(255)), { minLength: 1, maxLength: 4 }).map((changes) => {
      const copy = Uint8Array.from(sound);
      for (const [at, byte] of changes) copy[at] = byte;
      return copy;
    }),
    fc
      .tuple(fc.nat(sound.length), fc.nat(sound.length), fc.boolean())
      .map(([a, b, doubled]) =>
        doubled
          ? Buffer.concat([sound.subarray(0, Math.max(a, b)), sound.subarray(Math.min(a, b))])
          : Buffer.concat([sound.subarray(0, Math.min(a, b)), sound.subarray(Math.max(a, b))]),
      ),
    fc.uint8Array({ maxLength: 400 }),
  );

describe('whatever the bytes are, there is an answer', () => {
  it('of a signature block and a certificate', () => {
    const signer = makeSigner('rsa-2048', 'sha256');
    const states = new Set<string>();
    for (const attributes of [false, true]) {
      const cms = signBytes(Buffer.from('content'), signer, { attributes });
      fc.assert(
        fc.property(mutated(cms), (bytes) => {
          states.add(readCms(bytes).state);
        }),
        runs(400),
      );
    }
    fc.assert(
      fc.property(mutated(derOf(signer.certificate)), (bytes) => {
        describeCertificate(bytes);
      }),
      runs(200),
    );
    expect([...states].sort()).toEqual(['read', 'unreadable', 'unsupported']);
  });

  it('of a signature block made to exhaust its reader', () => {
    // 65,529 bytes is the most that a comment has room for.
    const nested = Buffer.alloc(65_528, Buffer.from([0x30, 0x80]));
    const wide = Buffer.concat([
      Buffer.from([0x30, 0x82, 0xff, 0xf0]),
      Buffer.alloc(0xfff0, Buffer.from([0x05, 0x00])),
    ]);
    const lying = Buffer.concat([Buffer.from([0x30, 0x84, 0xff, 0xff, 0xff, 0xff]), Buffer.alloc(1000, 0x30)]);
    for (const bytes of [nested, wide, lying]) expect(readCms(bytes).state).toBe('unreadable');
  });

  it('of a footer', () => {
    const end = Buffer.concat([Buffer.from('PK\x05\x06'), Buffer.alloc(16), Buffer.from([12, 0])]);
    const tail = Buffer.concat([Buffer.alloc(30), end, Buffer.from([1, 2, 3, 4, 5, 6, 12, 0, 0xff, 0xff, 12, 0])]);
    fc.assert(
      fc.property(mutated(tail), (bytes) => {
        const footer = parseFooter(bytes, bytes.length);
        if (footer.state !== 'found') return;
        expect(footer.signedBytes).toBeGreaterThanOrEqual(20);
        expect(footer.signedBytes + 2 + footer.cms.length + 6).toBeLessThanOrEqual(bytes.length);
      }),
      runs(5000),
    );
  });

  it('of the metadata in both forms, and of places', () => {
    const text = Buffer.from(metadataText(usualMetadata));
    const protobuf = makeManifest({ partitions: [{ name: 'system', bytes: 1 }] });
    fc.assert(
      fc.property(mutated(text), mutated(protobuf), (one, other) => {
        parseMetadataText(new TextDecoder().decode(one));
        parseMetadataProtobuf(other);
        parsePropertyFiles(new TextDecoder().decode(one));
      }),
      runs(2000),
    );
  });

  it('of a payload, whatever size its directory states', () => {
    const payload = makePayload({ partitions: [{ name: 'system', bytes: 4096 }], data: Buffer.alloc(40) });
    fc.assert(
      fc.property(mutated(payload), fc.nat(10_000), fc.integer({ min: 1, max: 300 }), (bytes, stated, size) => {
        const watch = watchPayload(0, stated);
        for (let at = 0; at < bytes.length; at += size) watch.data(bytes.subarray(at, at + size));
        const facts = watch.end({ name: 'payload.bin', bytes: bytes.length, crc32: 0, sha256: '' });
        if (facts.header.state === 'read') expect(facts.header.metadataBytes).toBeLessThanOrEqual(bytes.length);
        parsePayloadManifest(bytes);
      }),
      runs(2000),
    );
  });

  it('of a whole signed package, with and without a trusted certificate', async () => {
    const signer = makeSigner('ec-p256', 'sha256');
    const payload = makePayload({ partitions: [{ name: 'system', bytes: 4096 }], data: Buffer.alloc(100, 'panel') });
    const zip = await makeZip([
      { name: metadataName, content: metadataText(usualMetadata), compress: true },
      { name: 'payload.bin', content: payload },
      { name: 'payload_properties.txt', content: propertiesOf(payload) },
    ]);
    const signed = signPackage(zip, signer);
    await fc.assert(
      fc.asyncProperty(mutated(signed), fc.boolean(), async (bytes, isTrusted) => {
        const { facts } = await readPackage(bytes, isTrusted ? [signer.certificate] : []);
        // The signature is only ever called intact over exactly the bytes that openssl signed.
        if (facts.signature.state === 'read' && facts.signature.answer === 'intact') {
          expect(
            Buffer.from(bytes.subarray(0, facts.signature.signedBytes)).equals(signed.subarray(0, zip.length - 2)),
          ).toBe(true);
        }
      }),
      runs(150),
    );
  });
});
