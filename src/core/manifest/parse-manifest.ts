import * as z from 'zod';
import { type Manifest, manifestSchema } from '../model/manifest.ts';
import { canonicalForm } from './serialise-manifest.ts';

/** Larger than any manifest of a real package (about 150 bytes a file); a reader need not take more into memory. */
export const largestManifestBytes = 64 * 2 ** 20;

export type ManifestReading =
  | { readonly state: 'none' }
  /** There is one, but this version cannot read it, or it is not what was written. */
  | { readonly state: 'broken'; readonly problem: string }
  | { readonly state: 'newer'; readonly schema: string }
  | { readonly state: 'whole'; readonly manifest: Manifest };

/** Reads a manifest's text; it is whole only if its own digest matches. Never throws on bad text. */
export function parseManifest(text: string, sha256: (text: string) => string): ManifestReading {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return { state: 'broken', problem: 'it is not JSON; it was cut short or overwritten' };
  }
  const schema = typeof json === 'object' && json !== null && 'schema' in json ? json.schema : undefined;
  if (
    typeof schema === 'string' &&
    /^stickwright\/manifest\/\d+$/.test(schema) &&
    schema !== 'stickwright/manifest/1'
  ) {
    return { state: 'newer', schema };
  }
  const parsed = manifestSchema.safeParse(json);
  if (!parsed.success) {
    const first = z.prettifyError(parsed.error).split('\n').slice(0, 2).join(' ').replace(/\s+/g, ' ');
    return { state: 'broken', problem: first };
  }
  if (sha256(canonicalForm(parsed.data)) !== parsed.data.selfSha256) {
    return { state: 'broken', problem: 'its own SHA-256 does not match: it was changed after it was written' };
  }
  return { state: 'whole', manifest: parsed.data };
}
