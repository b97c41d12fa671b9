import { type Finding, finding } from '../findings/finding.ts';
import { readPackageName } from '../label/read-label.ts';
import type { Family } from '../model/family.ts';
import { alikeName, type ShelvedPackage } from './shelf-record.ts';

const fewestDigits = 8;

/** The packages that words stand for: a whole file name, or the first digits of a SHA-256. Nothing is guessed. */
export function selectPackages(
  words: readonly string[],
  packages: readonly ShelvedPackage[],
): { readonly selected: readonly ShelvedPackage[]; readonly findings: readonly Finding[] } {
  const selected = new Set<ShelvedPackage>();
  const findings: Finding[] = [];
  for (const word of words) {
    const matches = packages.filter((one) => isMeant(word, one));
    const [first, ...others] = matches;
    if (first === undefined) {
      findings.push(finding('shelf/not-on-shelf', word, { names: closeTo(word, packages), count: packages.length }));
    } else if (others.length > 0) {
      const shown = matches.map(({ record }) => `${record.name} (${record.sha256.slice(0, 12)})`);
      findings.push(finding('shelf/several-match', word, { matches: shown }));
    } else selected.add(first);
  }
  return { selected: [...selected], findings };
}

function isMeant(word: string, { record }: ShelvedPackage): boolean {
  if (alikeName(record.name) === alikeName(word)) return true;
  return word.length >= fewestDigits && record.sha256.startsWith(word.toLowerCase());
}

/** Names that contain the word, or that share its first letters. */
function closeTo(word: string, packages: readonly ShelvedPackage[]): readonly string[] {
  const folded = alikeName(word);
  const start = folded.slice(0, 5);
  return packages
    .map(({ record }) => record.name)
    .filter((name) => alikeName(name).includes(folded) || alikeName(name).startsWith(start))
    .slice(0, 4);
}

/** The one family that reads a package's name; undefined where none or several do. */
export function familyOfPackage(name: string, families: readonly Family[]): Family | undefined {
  const known = answers.get(families) ?? new Map<string, Family | undefined>();
  answers.set(families, known);
  if (known.has(name)) return known.get(name);
  const [reading, ...others] = readPackageName(name, families).readings;
  const family = others.length === 0 ? reading?.family : undefined;
  known.set(name, family);
  return family;
}

/** A shelf is compared package with package; each name is read once. */
const answers = new WeakMap<readonly Family[], Map<string, Family | undefined>>();

/** The family's short name by the family files at hand; what was true when it was added where none reads it now. */
export function familyNameOf(record: { name: string; family: string | null }, families: readonly Family[]) {
  return familyOfPackage(record.name, families)?.family ?? record.family ?? undefined;
}
