import { entryOf } from './catalogue.ts';
import { type Finding, severityOf } from './finding.ts';

export const verdicts = ['ready', 'not-ready', 'unproven'] as const;

/** `unproven` is honest: nothing is wrong, but something that matters could not be checked. */
export type Verdict = (typeof verdicts)[number];

export function verdictOf(findings: readonly Finding[]): Verdict {
  const severities = new Set(findings.map(severityOf));
  if (severities.has('stop')) return 'not-ready';
  return severities.has('unproven') ? 'unproven' : 'ready';
}

const order = { stop: 0, unproven: 1, caution: 2, note: 3 };

/** Stops first; within a severity the order in which the checks ran. */
export function inOrder(findings: readonly Finding[]): readonly Finding[] {
  return findings.toSorted((a, b) => order[severityOf(a)] - order[severityOf(b)]);
}

/** Turns the stops that a person accepted into cautions that carry the reason; some stops cannot be accepted. */
export function withAccepted(findings: readonly Finding[], accepted: ReadonlyMap<string, string>): readonly Finding[] {
  return findings.map((found) => {
    const because = accepted.get(found.code);
    return because === undefined || !isAcceptable(found.code) ? found : { ...found, acceptedBecause: because };
  });
}

export const isAcceptable = (code: Finding['code']): boolean =>
  entryOf(code).severity === 'stop' && entryOf(code).noOverride !== true;
