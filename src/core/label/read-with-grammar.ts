import { RE2JS, RE2JSSyntaxException } from 're2js';
import type { Grammar } from '../model/family.ts';
import type { Parts } from '../model/panel-identity.ts';
import { upperForComparing } from '../text/label-text.ts';

/** Longer texts are no labels and no file names (FAT long names: 255 UTF-16 units). */
export const longestText = 255;

type GrammarReading =
  | { readonly parts: Parts; readonly spans: Readonly<Record<string, readonly [start: number, end: number]>> }
  | { readonly parts: undefined; readonly because: string };

const compiledPatterns = new Map<string, CompiledPattern>();
const mostCompiled = 500;

function compiled(pattern: string): CompiledPattern {
  const known = compiledPatterns.get(pattern);
  if (known !== undefined) return known;
  if (compiledPatterns.size >= mostCompiled) compiledPatterns.clear();
  const fresh = compilePattern(pattern);
  compiledPatterns.set(pattern, fresh);
  return fresh;
}

/**
 * Reads a text into its parts. Never throws, whatever the pattern: it may have travelled in a manifest.
 *
 * The pattern must match the whole text, with or without `^` and `$`, in any case. Parts come out in upper case; an
 * optional part that is not there takes the value of `absent`, or is left out where `absent` does not name it, and a
 * part that only `absent` names is the same for all texts. They come in the pattern's order. `spans` says where in the
 * text each part stood, in UTF-16 units; a part that was not there has none.
 */
export function readWithGrammar(text: string, grammar: Grammar): GrammarReading {
  if (text.length > longestText) return { parts: undefined, because: `it is longer than ${longestText} characters` };
  const { regexp, ...rest } = compiled(grammar.pattern);
  if (regexp === undefined) {
    return { parts: undefined, because: 'problem' in rest ? rest.problem.what : 'the pattern cannot be used' };
  }
  const matcher = regexp.matcher(text);
  if (!matcher.matches()) return { parts: undefined, because: 'the pattern does not match it' };
  const groups = Object.entries(matcher.getNamedGroups());
  const found = groups.flatMap(([part, value]) => (value === null ? [] : [part]));
  const values = groups.map(([part, value]) => [
    part,
    value === null ? partOf(grammar.absent, part) : upperForComparing(value),
  ]);
  const fixed = Object.entries(grammar.absent).filter(([part]) => !groups.some(([group]) => group === part));
  return {
    parts: Object.fromEntries([...values.filter(([, value]) => value !== undefined), ...fixed]),
    spans: Object.fromEntries(found.map((part) => [part, [matcher.start(part), matcher.end(part)] as const])),
  };
}

/** Whether a text would be read, without its parts: for trying many spellings. */
export function isRead(text: string, grammar: Grammar): boolean {
  return text.length <= longestText && compiled(grammar.pattern).regexp?.testExact(text) === true;
}

/** The parts that a text does not carry itself and has from `absent`. */
export function unstatedParts(text: string, grammar: Grammar): readonly string[] {
  const reading = readWithGrammar(text, grammar);
  if (reading.parts === undefined) return [];
  return Object.keys(reading.parts).filter((part) => !Object.hasOwn(reading.spans, part));
}

/** A part's value; undefined where the text does not say. Safe for any name. */
export function partOf(parts: Parts, part: string): string | undefined {
  return Object.hasOwn(parts, part) ? parts[part] : undefined;
}

/** Why a pattern is not usable; `offset` counts UTF-16 units from the pattern's start. */
interface PatternProblem {
  readonly what: string;
  readonly todo: string;
  readonly offset: number;
}

type CompiledPattern =
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
 * Compiles a family's pattern for matching in time linear in the text (RE2 syntax), without regard to case. What RE2
 * cannot express is refused here, so that no label can hang the tool. Never throws.
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
