/**
 * What a finding does to the verdict.
 *
 * `stop`: the panel would refuse it or be harmed; the verdict is not-ready. `unproven`: nothing is wrong, but something
 * that matters could not be checked. `caution`: a person should know before going on. `note`: worth saying.
 */
export const severities = ['stop', 'unproven', 'caution', 'note'] as const;

export type Severity = (typeof severities)[number];

/** The texts of one code. `Facts` is what a check must supply, so that a missing fact is a build error. */
export interface CatalogueEntry<Facts> {
  readonly severity: Severity;
  /** A few words, for lists. */
  readonly title: string;
  /** What was seen, with the facts in it. */
  readonly seen: (facts: Facts, subject: string) => string;
  /** Why it matters at the panel. */
  readonly why: string;
  /** What to do next. */
  readonly todo: string | ((facts: Facts, subject: string) => string);
  /** The stop cannot be accepted with a reason: what it stops is impossible, or would harm more than this panel. */
  readonly noOverride?: true;
  /** Where the rule comes from: a standard and section, or "common practice". */
  readonly source: string;
}

/** Ties a catalogue entry's texts to its facts. */
export const define = <Facts>(entry: CatalogueEntry<Facts>): CatalogueEntry<Facts> => entry;

/** For findings that need no facts beyond their subject. */
export type NoFacts = Record<string, never>;
