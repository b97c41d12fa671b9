import { visibleLines } from '../../core/findings/visible.ts';

/** Markup that is already safe to put into a page. */
export class Html {
  readonly markup: string;

  constructor(markup: string) {
    this.markup = markup;
  }
}

type Part = Html | string | number | readonly Part[];

/** A page's markup: every text that is put in is escaped, also inside attributes in double quotes; `Html` and lists of it go in as they are. */
export const html = (fixed: TemplateStringsArray, ...parts: readonly Part[]): Html =>
  new Html(fixed.map((text, index) => text + (index < parts.length ? markupOf(parts[index] ?? '') : '')).join(''));

/** No markup. */
export const nothing = new Html('');

const markupOf = (part: Part): string => {
  if (part instanceof Html) return part.markup;
  return typeof part === 'object' ? part.map(markupOf).join('') : escapeText(String(part));
};

const entities: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** White space breaks no line on a page; what HTML forbids or would turn the text around it stands there by its number. */
const escapeText = (text: string): string =>
  visibleLines(text.replace(/\r\n?|\t/g, ' ')).replace(/[&<>"']/g, (character) => entities[character] ?? character);
