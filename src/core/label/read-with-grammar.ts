import type { Grammar } from '../model/family.ts';
import type { Parts } from '../model/panel-identity.ts';
import { type CompiledPattern, compilePattern } from './compile-pattern.ts';
import { upperForComparing } from './normalise-label.ts';

/** Longer texts are no labels and no file names (FAT long names: 255 UTF-16 units). */
export const longestText = 255;

export type GrammarReading =
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
 * optional part that is not there takes the value of `absent`, or is left out where `absent` does not name it, and a part that
 * only `absent` names is the same for all texts. They come in the pattern's order. `spans` says
 * where in the text each part stood, in UTF-16 units; a part that was not there has none.
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
