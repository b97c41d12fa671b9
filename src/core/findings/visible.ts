/** What moves the cursor, ends a line, or turns the direction of what stands around it (Unicode Standard, 23.1 and 23.2; ECMA-48). */
const steering = /[\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]|\p{Cs}/gu;

/**
 * A stranger's text as one line that a person can read and that draws nothing: names on sticks, words in documents, answers of the
 * system. What would steer a terminal or a page stands there by its number.
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
