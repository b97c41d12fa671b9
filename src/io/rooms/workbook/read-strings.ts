import type { Parts } from './open-parts.ts';
import { readXml } from './read-xml.ts';
import { tooLarge } from './workbook-refusal.ts';

const mostStrings = 2_000_000;

/** The shared strings in their order (ECMA-376 part 1, 18.4.9): runs joined, phonetic hints left out. */
export async function readSharedStrings(parts: Parts, part: string | undefined): Promise<readonly string[]> {
  const pieces = part === undefined ? undefined : parts.open(part);
  if (part === undefined || pieces === undefined) return [];
  const strings: string[] = [];
  const text = collectText();
  await readXml(part, pieces, {
    open: (local) => {
      if (local === 'si') text.clear();
      text.open(local);
    },
    close: (local) => {
      text.close(local);
      if (local !== 'si') return;
      if (strings.length >= mostStrings) throw tooLarge(`more than ${mostStrings.toLocaleString('en-US')} texts`);
      strings.push(text.value());
    },
    text: text.text,
  });
  return strings;
}

/** Gathers the `t` elements of a string, also of an inline one. */
export function collectText() {
  let value = '';
  let inText = 0;
  let inPhonetic = 0;
  return {
    clear: () => {
      value = '';
    },
    open: (local: string) => {
      if (local === 't') inText++;
      if (local === 'rPh') inPhonetic++;
    },
    close: (local: string) => {
      if (local === 't') inText--;
      if (local === 'rPh') inPhonetic--;
    },
    text: (text: string) => {
      if (inText > 0 && inPhonetic === 0) value += text;
    },
    value: () => unescapeText(value),
  };
}

/** `_x000D_` stands for a character that XML cannot hold, `_x005F_` for an underscore (ECMA-376 part 1, 22.9.2.19). */
export const unescapeText = (text: string): string =>
  text.replace(/_x([0-9A-Fa-f]{4})_/g, (_, code: string) => String.fromCharCode(Number.parseInt(code, 16)));
