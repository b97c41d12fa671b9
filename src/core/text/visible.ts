/**
 * What moves the cursor, ends a line, or turns the direction of what stands around it (Unicode Standard, 23.1 and 23.2;
 * ECMA-48).
 */
const steering = /[\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]|\p{Cs}/gu;

/**
 * A stranger's text as one line that a person can read and that draws nothing: names on sticks, words in documents,
 * answers of the system. What would steer a terminal or a page stands there by its number.
 */
export const visible = (text: string): string => text.replace(steering, byNumber);

/** The same for a text of several lines, which stay. Only where every line of it is indented. */
export const visibleLines = (text: string): string => text.split('\n').map(visible).join('\n');

function byNumber(character: string): string {
  const digits = character.charCodeAt(0).toString(16);
  return digits.length <= 2 ? `\\x${digits.padStart(2, '0')}` : `\\u${digits.padStart(4, '0')}`;
}

/** Plain data with every text in it made visible. */
export function visibleFacts(facts: unknown): unknown {
  if (typeof facts === 'string') return visible(facts);
  if (Array.isArray(facts)) return facts.map(visibleFacts);
  if (facts === null || typeof facts !== 'object' || Object.getPrototypeOf(facts) !== Object.prototype) return facts;
  return Object.fromEntries(Object.entries(facts).map(([name, fact]) => [name, visibleFacts(fact)]));
}

/**
 * Characters that show nothing: the Unicode category Cf and whatever may be ignored when shown
 * (Default_Ignorable_Code_Point, UAX #44): zero-width characters, direction marks, soft hyphens, variation selectors,
 * fillers, tags. Not those of Cf that are drawn (UAX #44, Prepended_Concatenation_Mark).
 */
const shown = '\\u0600-\\u0605\\u06DD\\u070F\\u0890\\u0891\\u08E2\\u{110BD}\\u{110CD}';
export const invisible = new RegExp(`(?![${shown}])[\\p{Cf}\\p{Default_Ignorable_Code_Point}]`, 'gu');
/** Control characters that are no white space; terminals and pages show nothing for them either. */
const control = /(?!\s)\p{Cc}/u;
/** Embeddings, overrides and isolates: with them a text is shown in another order than it is read in (UAX #9, 2). */
const reordering = /[\u202A-\u202E\u2066-\u2069]/;

interface InvisibleCharacter {
  /** `U+200F`. */
  readonly code: string;
  readonly name: string | undefined;
  /** What can be seen before it; empty at the start. */
  readonly after: string;
  readonly reorders: boolean;
}

/** Those that are met most; the others go by their number. */
const names: Readonly<Record<string, string>> = {
  'U+00AD': 'soft hyphen',
  'U+061C': 'Arabic letter mark',
  'U+200B': 'zero-width space',
  'U+200C': 'zero-width non-joiner',
  'U+200D': 'zero-width joiner',
  'U+200E': 'left-to-right mark',
  'U+200F': 'right-to-left mark',
  'U+202A': 'left-to-right embedding',
  'U+202B': 'right-to-left embedding',
  'U+202C': 'end of an embedding',
  'U+202D': 'left-to-right override',
  'U+202E': 'right-to-left override',
  'U+2060': 'word joiner',
  'U+2066': 'left-to-right isolate',
  'U+2067': 'right-to-left isolate',
  'U+2068': 'first strong isolate',
  'U+2069': 'end of an isolate',
  'U+FEFF': 'byte order mark',
};

/** Every character of TEXT that cannot be seen, in its order. */
export function findInvisible(text: string): readonly InvisibleCharacter[] {
  const found: InvisibleCharacter[] = [];
  let after = '';
  for (const character of text) {
    if (character.search(invisible) < 0 && !control.test(character)) {
      after += character;
      continue;
    }
    const code = `U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}`;
    found.push({ code, name: names[code], after: after.trim(), reorders: reordering.test(character) });
  }
  return found;
}

/** `U+200F (right-to-left mark) after "K2-se"`, … */
export const invisibleInWords = (found: readonly InvisibleCharacter[], most = 3): string => {
  const words = found.slice(0, most).map(({ code, name, after }) => {
    const place = after === '' ? 'at the start' : `after "${after.slice(-24)}"`;
    return `${code}${name === undefined ? '' : ` (${name})`} ${place}`;
  });
  return words.join(', ') + (found.length > most ? ` and ${found.length - most} more` : '');
};
