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

/** Control characters, which HTML forbids, show as such; so do the marks that turn the direction of the text around them. */
const escapeText = (text: string): string =>
  text
    .replace(/[&<>"']/g, (character) => entities[character] ?? character)
    .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, '\ufffd');
