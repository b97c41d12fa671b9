import { type Manifest, manifest1Schema, manifest2Schema } from '../model/manifest.ts';
import { parseDocument, type Sha256 } from '../sealed/sealed-document.ts';

/** Larger than any manifest of a real package: 65,535 files with paths of 100 letters. A reader need not take more into memory. */
export const largestManifestBytes = 16 * 2 ** 20;

/** What the record of one path takes at most, as it is written: its members, and three bytes for a letter beyond ASCII. */
export const recordedBytes = (path: string): number =>
  160 + path.length + 2 * (path.match(/[^\x20-\x7e]/g)?.length ?? 0);

export type ManifestReading =
  | { readonly state: 'none' }
  /** There is one, but this version cannot read it, or it is not what was written. */
  | { readonly state: 'broken'; readonly problem: string }
  | { readonly state: 'newer'; readonly schema: string }
  | { readonly state: 'whole'; readonly manifest: Manifest };

/** Reads a manifest's text; it is whole only if its own digest matches. Never throws on bad text. */
export function parseManifest(text: string, sha256: Sha256): ManifestReading {
  const reading = parseDocument<Manifest>(text, 'manifest', { 1: manifest1Schema, 2: manifest2Schema }, sha256);
  if (reading.state !== 'whole') return reading;
  // JSON says nothing of what follows it; a size that is one less in the file's slot would go unseen.
  if (!text.endsWith('}\n')) return { state: 'broken', problem: 'it does not end as it was written' };
  return { state: 'whole', manifest: reading.document };
}
