import canonicalize from 'canonicalize';
import type { Manifest } from '../model/manifest.ts';

type Sha256 = (text: string) => string;

/** The RFC 8785 form over which a manifest's own digest is made: all members but the digest. */
export function canonicalForm(manifest: Omit<Manifest, 'selfSha256'>): string {
  const text = canonicalize({ ...manifest, selfSha256: undefined });
  if (text === undefined) throw new TypeError('a manifest always has a canonical form');
  return text;
}

/** Adds the digest that lets any later reader see whether the manifest is whole. */
export function withOwnDigest(manifest: Omit<Manifest, 'selfSha256'>, sha256: Sha256): Manifest {
  return { ...manifest, selfSha256: sha256(canonicalForm(manifest)) };
}

export function serialiseManifest(manifest: Manifest): string {
  return `${JSON.stringify(manifest, null, 2)}\n`;
}
