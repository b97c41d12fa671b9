import { visibleLines } from '../../core/text/visible.ts';

/** Markup that is already safe to put into a page. */
export class Html {
  readonly markup: string;

  constructor(markup: string) {
    this.markup = markup;
  }
}

type Part = Html | string | number | readonly Part[];

/**
 * A page's markup: every text that is put in is escaped, also inside attributes in double quotes; `Html` and lists of
 * it go in as they are.
 */
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

/**
 * White space breaks no line on a page; what HTML forbids or would turn the text around it stands there by its number.
 */
const escapeText = (text: string): string =>
  visibleLines(text.replace(/\r\n?|\t/g, ' ')).replace(/[&<>"']/g, (character) => entities[character] ?? character);
/** Between paragraphs, as a share of the gap between blocks; the style says the same. */
export const paragraphShare = 0.5;
/**
 * Fonts that systems bring along; nothing is fetched. Those with the metrics of Helvetica first; where there is none,
 * wider ones are brought down to their width, so that a card takes the same room on every desk. Mono: those whose zero
 * is dotted or slashed first.
 */
const common = `
@font-face { font-family: "Narrowed"; src: local("DejaVu Sans"), local("Verdana"); size-adjust: 87%; }
@font-face { font-family: "Narrowed"; font-weight: 700 900; src: local("DejaVu Sans Bold"), local("Verdana Bold"); size-adjust: 85%; }
@font-face { font-family: "Narrowed a little"; src: local("Noto Sans"), local("Open Sans"); size-adjust: 94%; }
@font-face { font-family: "Narrowed a little"; font-weight: 700 900; src: local("Noto Sans Bold"), local("Open Sans Bold"); size-adjust: 93%; }
:root { --sans: "Helvetica Neue", Helvetica, Arial, "Liberation Sans", "Nimbus Sans", "Narrowed a little", "Narrowed", sans-serif; --mono: Consolas, Menlo, "DejaVu Sans Mono", "Liberation Mono", "Noto Sans Mono", "Courier New", monospace; }
html { color: #000; background: #fff; font-family: var(--sans); -webkit-print-color-adjust: exact; print-color-adjust: exact; }
body { margin: 0; overflow-wrap: anywhere; }
b, h1, h2, h3 { font-weight: 700; }
.hatch { display: block; overflow: hidden; }
.box { display: inline-block; flex: none; width: .82em; height: .82em; border: .3mm solid; box-sizing: border-box; vertical-align: -.06em; }
.line { display: inline-block; border-bottom: .3mm solid; vertical-align: baseline; }
h1, h2, h3, p, dl, dd, dt { margin: 0; }
@media screen { html { background: #ddd; } main { width: max-content; margin: 8mm auto; } main > * { background: #fff; padding: 7mm; margin-bottom: 8mm; } }
`;

/** A whole page in one file: no script, nothing from elsewhere. */
export function pageDocument(title: string, style: string, main: Html): string {
  const page = html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>${title}</title>
<style>${new Html(common + style)}</style>
</head>
<body>
${main}
</body>
</html>
`;
  return page.markup;
}
