import type { Manifest } from '../model/manifest.ts';
import { type Seal, sealSchema } from '../model/seal.ts';
import { canonicalForm, parseShape } from '../sealed/sealed-document.ts';

export type SealReading =
  | { readonly state: 'none' }
  /** There is something under its name that is no seal. */
  | { readonly state: 'broken' }
  | { readonly state: 'whole'; readonly seal: Seal };

/** What a seal is made over. The first line keeps a signature of anything else from being taken for one. */
export const sealedText = (manifest: Manifest): string => `stickwright/seal/1\n${canonicalForm(manifest)}`;

export const makeSeal = (publicKey: string, signature: string): Seal => ({
  schema: 'stickwright/seal/1',
  algorithm: 'Ed25519',
  publicKey,
  signature,
});

export const serialiseSeal = (seal: Seal): string => `${JSON.stringify(seal, null, 2)}\n`;

/** Never throws on bad text. */
export function parseSeal(text: string): SealReading {
  const reading = parseShape(text, 'seal', { 1: sealSchema });
  return reading.state === 'whole' ? { state: 'whole', seal: reading.document } : { state: 'broken' };
}

/** The first 16 hex digits of the SHA-256 of a key in base64: enough to tell a desk's keys apart by eye, not to trust one. */
export const keyName = (publicKeySha256: string): string =>
  (publicKeySha256.slice(0, 16).match(/.{4}/g) ?? []).join('-');
