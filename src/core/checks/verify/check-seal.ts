import { type Finding, finding } from '../../findings/finding.ts';
import type { SealReading } from '../../manifest/seal-text.ts';

export interface SealFacts {
  readonly target: string;
  readonly reading: SealReading;
  /** The seal's signature is right for the manifest and the key that the seal names. */
  readonly isSound: boolean;
  /** Names of keys as people compare them. */
  readonly sealedBy: string | undefined;
  /** Whom the manifest itself names: null where it says that it has no seal, undefined where its version does not say. */
  readonly named: string | null | undefined;
  /** The key that the person trusts; undefined where they named none. */
  readonly trusted: { readonly publicKey: string; readonly name: string } | undefined;
}

/** Whether the manifest is the desk's own. Whoever can write a stick can write a manifest that is whole; only a seal tells. */
export function checkSeal({ target, reading, isSound, sealedBy, named, trusted }: SealFacts): readonly Finding[] {
  if (reading.state === 'broken' || (reading.state === 'whole' && !isSound))
    return [finding('verify/seal-broken', target)];
  if (reading.state === 'none' && typeof named === 'string')
    return [finding('verify/seal-removed', target, { name: named })];
  if (reading.state === 'whole' && named !== undefined && named !== sealedBy)
    return [finding('verify/seal-broken', target)];
  if (trusted === undefined) return [finding('verify/seal-not-asked', target, { sealedBy })];
  if (reading.state === 'none') return [finding('verify/seal-missing', target, { wanted: trusted.name })];
  if (reading.seal.publicKey !== trusted.publicKey)
    return [finding('verify/sealed-by-another', target, { wanted: trusted.name, got: sealedBy ?? 'unknown' })];
  return [finding('verify/sealed', target, { name: trusted.name })];
}
