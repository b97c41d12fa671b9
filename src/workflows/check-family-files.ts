import { checkFamilies } from '../core/checks/fit/check-families.ts';
import type { Finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { Family } from '../core/model/family.ts';
import type { FamilyReport } from '../core/report/family-reports.ts';

/** What is wrong with family files, each by itself and all together. */
export function checkFamilyFiles(read: {
  readonly families: readonly Family[];
  readonly findings: readonly Finding[];
}): FamilyReport {
  const findings = [...read.findings, ...checkFamilies(read.families)];
  return { command: 'family check', verdict: verdictOf(findings), findings, families: read.families };
}
