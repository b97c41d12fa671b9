import { type Finding, severityOf } from '../../findings/finding.ts';
import type { RecordOf } from '../../model/round-record.ts';

/** What becomes of a stick that came back. */
export const conclusions = ['go-again', 'not-proven', 'prepare-anew', 'finish-clearing', 'retire'] as const;
export type Conclusion = (typeof conclusions)[number];

/** The medium itself failed: trade, "retired on any read error" (common practice, no source). */
const ofWear: ReadonlySet<string> = new Set([
  'verify/unreadable',
  'returned/not-readable',
  'medium/unreadable-sectors',
  'medium/errors-recorded',
  'medium/bad-clusters',
  'medium/exfat-media-failure',
]);

const ofChange: ReadonlySet<string> = new Set([
  'verify/changed',
  'verify/missing',
  'verify/manifest-broken',
  'verify/seal-broken',
  'verify/seal-removed',
  'verify/record-changed',
  'returned/unexplained',
  'returned/twins',
  'verify/firmware-inside',
]);

export function conclude(findings: readonly Finding[]): Conclusion {
  const codes = new Set<string>(findings.map(({ code }) => code));
  if (isWorn(findings)) return 'retire';
  if (codes.has('returned/clearing-unfinished')) return 'finish-clearing';
  const severities = new Set(findings.map(severityOf));
  if (severities.has('stop')) return 'prepare-anew';
  return severities.has('unproven') ? 'not-proven' : 'go-again';
}

export const isWorn = (findings: readonly Finding[]): boolean => findings.some(({ code }) => ofWear.has(code));

/** One word for the record of the round. */
export function stateOf(findings: readonly Finding[]): RecordOf<'returned'>['state'] {
  const has = (codes: ReadonlySet<string>): boolean => findings.some(({ code }) => codes.has(code));
  if (has(ofWear)) return 'unreadable';
  if (has(ofChange)) return 'changed';
  return has(new Set(['returned/visited'])) ? 'visited' : 'unchanged';
}
