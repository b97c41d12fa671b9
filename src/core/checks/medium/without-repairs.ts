import { type Finding, finding } from '../../findings/finding.ts';

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
 * What a preparation need not speak of before it has begun: names that are its own and all written anew, and chains that lead to
 * nothing sound, which a cut leaves. What is still there when all names are given is asked then. STANDS: a folder on the way is the
 * cause, and that stays as it is, with its marks.
 */
export const withoutRewritten = (findings: readonly Finding[], stands: boolean): readonly Finding[] =>
  findings.filter(({ code }) => code !== 'medium/way-damaged' && (stands || !aboutNames.has(code)));

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
