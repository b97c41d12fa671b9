import { RE2JS, RE2JSSyntaxException } from 're2js';

/** Why a pattern is not usable; `offset` counts UTF-16 units from the pattern's start. */
export interface PatternProblem {
  readonly what: string;
  readonly todo: string;
  readonly offset: number;
}

export type CompiledPattern =
  | { readonly regexp: RE2JS; readonly parts: readonly string[] }
  | { readonly regexp: undefined; readonly problem: PatternProblem };

/** A label's pattern compiles to some tens of instructions; matching costs at most this many steps a character. */
const largestProgram = 2_000;
const longestPattern = 2_000;

const refused = (what: string, todo: string, offset: number): CompiledPattern => ({
  regexp: undefined,
  problem: { what, todo, offset: Math.max(0, offset) },
});

/**
 * Compiles a family's pattern for matching in time linear in the text (RE2 syntax), without regard to case. What RE2 cannot
 * express is refused here, so that no label can hang the tool. Never throws.
 */
export function compilePattern(pattern: string): CompiledPattern {
  if (pattern.length > longestPattern) {
    return refused(
      `the pattern has ${pattern.length} characters, more than ${longestPattern}`,
      'Write a shorter one.',
      longestPattern,
    );
  }
  try {
    const regexp = RE2JS.compile(pattern, RE2JS.CASE_INSENSITIVE);
    if (regexp.matcher('').programSize() > largestProgram) {
      return refused(
        'the pattern repeats so much that matching it would be slow',
        'Use smaller repeat counts; a label part is a few characters long.',
        pattern.indexOf('{'),
      );
    }
    return { regexp, parts: Object.keys(regexp.namedGroups()) };
  } catch (cause) {
    return explain(pattern, cause);
  }
}

function explain(pattern: string, cause: unknown): CompiledPattern {
  if (!(cause instanceof RE2JSSyntaxException)) {
    return refused(
      `the pattern cannot be compiled (${cause instanceof Error ? cause.message : String(cause)})`,
      'Write it more simply.',
      0,
    );
  }
  // The library shows the flag for matching in any case as part of the pattern.
  const fragment = (cause.getPattern() ?? '').replace(/^\(\?i\)/, '');
  const offset = fragment === '' ? pattern.length - 1 : pattern.indexOf(fragment);
  if (/^\\([1-9]|k)/.test(fragment)) {
    return refused(
      `\`${fragment}\` refers back to an earlier group; matching that can take longer than any label is worth`,
      'Write the part out again, or make it two patterns.',
      offset,
    );
  }
  if (/^\(\?<?[=!]/.test(fragment)) {
    return refused(
      `\`${fragment}\` looks ahead or behind; matching that can take longer than any label is worth`,
      'Match the text itself in an optional group `(?: … )?` instead.',
      offset,
    );
  }
  if (fragment.startsWith('(?<') || fragment.startsWith('(?P<')) {
    return refused(
      `${cause.getDescription()}: \`${fragment}\``,
      'A part is named with letters, digits and underscores, as in (?<factory>K\\d).',
      offset,
    );
  }
  const shown = fragment === '' ? '' : `: \`${fragment}\``;
  return refused(`${cause.getDescription()}${shown}`, 'Correct the pattern there (RE2 syntax).', offset);
}
