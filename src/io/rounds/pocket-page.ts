import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { readRegularFile } from '../files/regular-file.ts';

/** What runs in the phone, and how it looks. */
export interface PocketPage {
  readonly script: string;
  readonly style: string;
  /** SHA-256 in base64, as a content security policy names what it allows (CSP Level 3, 2.3.1). */
  readonly sha256: (text: string) => string;
}

/** What the file of a person is called. */
export function pocketFileName(who: string): string {
  const letters = who.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
  return `pocket-${letters.replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '') || 'person'}.html`;
}

/** The build lays it beside the folder in which this code then lies. */
const at = (name: string): string => fileURLToPath(new URL(`../pocket/${name}`, import.meta.url));
const mostBytes = 4_000_000;

export async function readPocketPage(): Promise<PocketPage> {
  const read = async (name: string): Promise<string> => (await readRegularFile(at(name), mostBytes)).toString('utf8');
  const [script, style] = await Promise.all([read('pocket.js'), read('pocket.css')]);
  return { script, style, sha256: (text) => createHash('sha256').update(text).digest('base64') };
}
