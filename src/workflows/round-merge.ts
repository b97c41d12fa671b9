import { type Finding, finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoundMergeReport } from '../core/report/round-record-reports.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';

/** Takes in the records of other folders or files, one after the other; what was taken in stays, also if a later one fails. */
export async function mergeRounds(sources: readonly string[], folder: RoundFolder): Promise<RoundMergeReport> {
  const merged: RoundMergeReport['merged'][number][] = [];
  const findings: Finding[] = [];
  for (const from of sources) {
    const { added, known, damaged } = await folder.merge(from);
    merged.push({ from, added, known });
    findings.push(finding('record/merged', from, { added, known }));
    findings.push(
      ...damaged.map(({ file, line, problem }) =>
        finding('record/damaged-line', `${from}: ${file}`, { line, problem }),
      ),
    );
  }
  return { command: 'round merge', verdict: verdictOf(findings), findings, place: folder.place, merged };
}
