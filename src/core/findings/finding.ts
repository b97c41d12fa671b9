import type { NoFacts, Severity } from '../model/catalogue-entry.ts';
import { visible, visibleFacts } from '../text/visible.ts';
import { entryOf, type FactsOf, type FindingCode } from './catalogue.ts';

/** An answer about the input: returned, never thrown. */
export interface Finding {
  readonly code: FindingCode;
  /** What it is about: a file, an entry, a part of the label, a stick. */
  readonly subject: string;
  /** Plain data, as the code's catalogue entry types it. */
  readonly facts: unknown;
  /** Present where a person overrode the stop, with their reason. */
  readonly acceptedBecause?: string;
}

/** Makes a finding; the code decides which facts must be given. */
export function finding<Code extends FindingCode>(
  code: Code,
  subject: string,
  ...facts: FactsOf<Code> extends NoFacts ? [] : [facts: FactsOf<Code>]
): Finding {
  return { code, subject, facts: facts[0] ?? {} };
}

/** The severity that counts: an accepted stop is a caution. */
export function severityOf(found: Finding): Severity {
  const severity = entryOf(found.code).severity;
  return severity === 'stop' && found.acceptedBecause !== undefined ? 'caution' : severity;
}

const mostAlike = 100;

/**
 * At most a hundred of each code, and how many more there were: an archive whose every entry is wrong fills no screen
 * and no memory.
 */
export function fewAlike(findings: readonly Finding[]): readonly Finding[] {
  const counts = new Map<FindingCode, number>();
  const kept = findings.filter(({ code }) => {
    const count = (counts.get(code) ?? 0) + 1;
    counts.set(code, count);
    return count <= mostAlike;
  });
  const more = [...counts].filter(([, count]) => count > mostAlike);
  return [
    ...kept,
    ...more.map(([code, count]) =>
      finding('archive/more-alike', '', { code, more: count - mostAlike, shown: mostAlike }),
    ),
  ];
}

interface FindingTexts {
  readonly title: string;
  readonly seen: string;
  readonly why: string;
  readonly todo: string;
}

/** The words of a finding, for any renderer. */
export function textsOf(found: Finding): FindingTexts {
  const entry = entryOf(found.code);
  // What was found is strangers' words; the line breaks are those of the catalogue alone.
  const facts = visibleFacts(found.facts) as never;
  const subject = visible(found.subject);
  return {
    title: entry.title,
    seen: ended(entry.seen(facts, subject)),
    why: entry.why,
    todo: ended(typeof entry.todo === 'string' ? entry.todo : entry.todo(facts, subject)),
  };
}

/** Strangers' words at the end of a sentence bring no full stop; a line that is indented is a list or a mark. */
const ended = (text: string): string => (/[.!?:]["”’)`]*$|"$|(?:^|\n)\s[^\n]*$/.test(text) ? text : `${text}.`);

export const verdicts = ['ready', 'not-ready', 'unproven'] as const;

/** `unproven` is honest: nothing is wrong, but something that matters could not be checked. */
export type Verdict = (typeof verdicts)[number];

export function verdictOf(findings: readonly Finding[]): Verdict {
  const severities = new Set(findings.map(severityOf));
  if (severities.has('stop')) return 'not-ready';
  return severities.has('unproven') ? 'unproven' : 'ready';
}

/** Of several sticks, packages or rooms: the worst of them counts. */
export function worstOf(verdicts: readonly Verdict[]): Verdict {
  if (verdicts.includes('not-ready')) return 'not-ready';
  return verdicts.includes('unproven') ? 'unproven' : 'ready';
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

/** Whether a text can be the reason why a stop was accepted; it is written down for all who come after. */
export const isReason = (text: string): boolean => text.trim().length >= 3;
