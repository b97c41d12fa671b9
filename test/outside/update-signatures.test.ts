import { describe, expect } from 'vitest';
import type { FindingCode } from '../../src/core/findings/catalogue.ts';
import { makeZip, metadataName, metadataText, usualMetadata } from '../fixtures/update-packages/make-package.ts';
import { makePayload, propertiesOf } from '../fixtures/update-packages/make-payload.ts';
import { readPackage } from '../fixtures/update-packages/read-package.ts';
import {
  derOf,
  makeIssuedSigner,
  makeSigner,
  type SigningWish,
  signBytes,
  signPackage,
  withSignature,
} from '../fixtures/update-packages/sign-package.ts';
import { needs } from './needs.ts';

const it = needs({ openssl: 'openssl' });

const payload = makePayload({ partitions: [{ name: 'system', bytes: 4096 }] });

/** Made when first needed, and not where openssl is missing. */
const once = <T>(make: () => T): (() => T) => {
  let made: T | undefined;
  return () => {
    made ??= make();
    return made;
  };
};

/** Somebody whom nobody trusts. */
const stranger = once(() => makeSigner('rsa-2048', 'sha256', 'Stranger'));

const zip = (): Promise<Buffer> =>
  makeZip([
    { name: metadataName, content: metadataText(usualMetadata), compress: true },
    { name: 'payload.bin', content: payload },
    { name: 'payload_properties.txt', content: propertiesOf(payload) },
  ]);

// Certificates, keys and signatures are made by openssl; the form of the package is that of AOSP's verifier.cpp.
describe('a package signed by openssl', () => {
  const kinds: readonly {
    readonly kind: Parameters<typeof makeSigner>[0];
    readonly hash: 'sha1' | 'sha256' | 'sha384';
    readonly wish?: SigningWish;
    readonly also: readonly FindingCode[];
  }[] = [
    { kind: 'rsa-2048', hash: 'sha256', also: [] },
    { kind: 'rsa-2048', hash: 'sha1', also: ['update/signature-weak'] },
    { kind: 'rsa-2048', hash: 'sha256', wish: { keyIdentifier: true }, also: [] },
    { kind: 'rsa-2048', hash: 'sha256', wish: { attributes: true }, also: ['update/signature-form'] },
    { kind: 'rsa-1024', hash: 'sha256', also: ['update/signature-form'] },
    { kind: 'ec-p256', hash: 'sha256', also: [] },
    { kind: 'ec-p256', hash: 'sha256', wish: { attributes: true }, also: ['update/signature-form'] },
    { kind: 'ec-p384', hash: 'sha384', also: ['update/signature-form'] },
  ];
  for (const { kind, hash, wish = {}, also } of kinds) {
    const how = Object.keys(wish).join(' ') || 'plain';
    it(`${kind}, ${hash}, ${how}: intact, and known once its certificate is trusted`, async () => {
      const signer = makeSigner(kind, hash);
      const signed = signPackage(await zip(), signer, { hash, ...wish });
      const alone = await readPackage(signed);
      expect(alone.facts.signature).toMatchObject({ answer: 'intact', certificate: { sha256: signer.fingerprint } });
      expect(alone.codes.filter((code) => code.includes('/sign'))).toEqual(['update/signer-unknown', ...also]);
      const trusted = await readPackage(signed, [signer.certificate]);
      expect(trusted.codes.filter((code) => code.includes('/sign'))).toEqual(['update/signer-known', ...also]);
      expect(trusted.stops).toEqual([]);
      const other = await readPackage(signed, [stranger().certificate]);
      expect(other.stops).toEqual(['update/signer-differs']);
    });
  }

  it('a hash that the certificate does not ask for is said, and fails against that certificate', async () => {
    const signer = makeSigner('rsa-2048', 'sha256');
    const signed = signPackage(await zip(), signer, { hash: 'sha1' });
    expect((await readPackage(signed)).codes).toContain('update/signature-form');
    expect((await readPackage(signed, [signer.certificate])).stops).toEqual(['update/signer-differs']);
  });

  it('without a certificate inside it is unproven alone, and known by a trusted one', async () => {
    const signer = makeSigner('rsa-2048', 'sha256');
    const signed = signPackage(await zip(), signer, { withoutCertificate: true });
    expect((await readPackage(signed)).codes[0]).toBe('update/signature-without-certificate');
    expect((await readPackage(signed, [signer.certificate])).codes[0]).toBe('update/signer-known');
    expect((await readPackage(signed, [stranger().certificate])).stops).toEqual(['update/signer-differs']);
  });

  it('a signature of a kind that nobody here checks is unproven', async () => {
    const signed = signPackage(await zip(), makeSigner('rsa-2048', 'sha256'), { pss: true });
    expect((await readPackage(signed)).codes[0]).toBe('update/signature-unsupported');
  });

  it('a certificate that another one issued is intact, and seen when altered as long as its issuer is inside', async () => {
    const issuer = makeSigner('rsa-2048', 'sha256', 'Invented issuer');
    const signer = makeIssuedSigner(issuer);
    const signed = signPackage(await zip(), signer, { certificateFile: issuer.certificate });
    expect((await readPackage(signed, [signer.certificate])).codes[0]).toBe('update/signer-known');
    expect((await readPackage(signed, [issuer.certificate])).stops).toEqual(['update/signer-differs']);
    const name = signed.indexOf('Issued signer');
    signed.write('issued', name, 'latin1');
    expect((await readPackage(signed)).stops).toEqual(['update/signature-certificate-damaged']);
  });

  it('a signature over another package is broken', async () => {
    const signer = makeSigner('rsa-2048', 'sha256');
    const other = signBytes(Buffer.from('another package'), signer);
    const whole = await zip();
    const run = await readPackage(withSignature(whole.subarray(0, -2), other), [signer.certificate]);
    expect(run.stops).toEqual(['update/signature-broken']);
  });
});

describe('one byte changed in a signed package', () => {
  const signer = once(() => makeSigner('rsa-2048', 'sha256'));
  const build = async (attributes: boolean) => {
    const whole = await zip();
    const signed = signPackage(whole, signer(), { attributes });
    const comment = whole.length;
    return { whole, signed, comment };
  };
  const changed = (bytes: Buffer, at: number): Buffer => {
    const copy = Buffer.from(bytes);
    copy[at] = (copy[at] ?? 0) ^ 0x01;
    return copy;
  };

  for (const attributes of [false, true]) {
    const how = attributes ? 'with signed attributes' : 'without signed attributes';
    it(`${how}: payload, metadata, directory and end record break the signature`, async () => {
      const { whole, signed } = await build(attributes);
      const places = {
        payload: whole.indexOf('panelpanel') + 777,
        metadata: whole.indexOf(metadataName) + metadataName.length + 12,
        'file time in the directory': whole.lastIndexOf('PK\x01\x02') + 12,
      };
      for (const [place, at] of Object.entries(places)) {
        for (const trusted of [[], [signer().certificate]]) {
          const { stops } = await readPackage(changed(signed, at), trusted);
          expect(stops[0], place).toBe('update/signature-broken');
        }
      }
    });
  }

  it('each byte of the footer', async () => {
    const { signed } = await build(false);
    for (let back = 1; back <= 6; back += 1) {
      const { codes } = await readPackage(changed(signed, signed.length - back));
      const expected = back === 5 || back === 6 ? /signature-(footer-broken|unreadable)$/ : /signature-footer-broken$/;
      expect(codes[0], `${back} bytes before the end`).toMatch(expected);
    }
  });

  it('the comment length in the end record', async () => {
    const { signed, comment } = await build(false);
    for (const at of [comment - 2, comment - 1]) {
      expect((await readPackage(changed(signed, at))).codes[0]).toBe('update/signature-footer-broken');
    }
  });

  it('bytes throughout the certificate', async () => {
    const { signed } = await build(false);
    const der = derOf(signer().certificate);
    const start = signed.indexOf(der);
    expect(start).toBeGreaterThan(0);
    const answers = new Map<string, number>();
    for (let at = start; at < start + der.length; at += 13) {
      const { codes } = await readPackage(changed(signed, at));
      const code = codes[0] ?? '';
      answers.set(code, (answers.get(code) ?? 0) + 1);
    }
    const allowed = ['update/signature-certificate-damaged', 'update/signature-unreadable'];
    expect([...answers.keys()].filter((code) => !allowed.includes(code))).toEqual([]);
    expect(answers.get('update/signature-certificate-damaged')).toBeGreaterThan(der.length / 40);
  });

  it('bytes throughout the signature value', async () => {
    const { signed } = await build(false);
    // RSA-2048: the last 256 bytes of the CMS, before the footer.
    for (let at = signed.length - 6 - 256; at < signed.length - 6; at += 17) {
      expect((await readPackage(changed(signed, at))).stops).toEqual(['update/signature-broken']);
    }
  });
});
