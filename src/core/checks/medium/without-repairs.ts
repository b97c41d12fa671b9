import { type Finding, finding } from '../../findings/finding.ts';

/** What a write that was cut off can leave in the tables and folders of a FAT volume. */
const leftByACut: ReadonlySet<string> = new Set([
  'medium/fat-copies-differ',
  'medium/fat-entries-invalid',
  'medium/cross-linked',
  'medium/chain-loops',
  'medium/chain-broken',
  'medium/chain-short',
  'medium/start-cluster-invalid',
  'medium/folder-damaged',
  'medium/name-duplicate',
]);

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
