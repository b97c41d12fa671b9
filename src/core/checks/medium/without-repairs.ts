import { type Finding, finding } from '../../findings/finding.ts';
import type { Examples } from '../../volume-format/audit/flaw.ts';
import { foldName } from '../../volume-format/fat-name.ts';

/** What a write that was cut off can leave in the tables and folders of a FAT volume. */
const leftByACut: ReadonlySet<string> = new Set([
  'medium/fat-copies-differ',
  'medium/cross-linked',
  'medium/chain-loops',
  'medium/chain-broken',
  'medium/chain-short',
  'medium/start-cluster-invalid',
  'medium/folder-damaged',
  'medium/name-duplicate',
]);

/** What is wrong with single names that somebody relies on; its facts hold their paths. */
const aboutNames: ReadonlySet<string> = new Set([
  'medium/way-tables-differ',
  'medium/way-slot-odd',
  'medium/firmware-hidden',
]);

/**
 * What a preparation need not speak of before it has begun: names that are its own files and all written anew, and chains that lead to
 * nothing sound, which a cut leaves. What is still there when all names are given is asked then. A folder on the way stays as it is,
 * and so do its marks.
 */
export function withoutRewritten(findings: readonly Finding[], rewritten: ReadonlySet<string>): readonly Finding[] {
  const files = new Set([...rewritten].map(foldName));
  const concernsOnly = (facts: unknown): boolean => {
    const { count, paths } = facts as Examples;
    return count === paths.length && paths.every((path) => files.has(foldName(path.slice(1))));
  };
  return findings.filter(
    ({ code, facts }) => code !== 'medium/way-damaged' && !(aboutNames.has(code) && concernsOnly(facts)),
  );
}

/**
 * Beside a preparation, which writes and reads back every file that counts, damage of this kind is a reason to repair the
 * volume and none to stop: the same command must be able to finish a stick that was pulled. All of it in one caution.
 */
export function withoutRepairs(target: string, findings: readonly Finding[]): readonly Finding[] {
  const repairs = findings.filter(({ code }) => leftByACut.has(code));
  if (repairs.length === 0) return findings;
  const codes = [...new Set(repairs.map(({ code }) => code))];
  return [...findings.filter((found) => !repairs.includes(found)), finding('stick/needs-repair', target, { codes })];
}
