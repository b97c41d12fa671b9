import { visibleLines } from '../../core/text/visible.ts';
import { inZone } from '../zone.ts';

/** Markup that is already safe to put into a page. */
export class Html {
  readonly markup: string;

  constructor(markup: string) {
    this.markup = markup;
  }
}

type Part = Html | string | number | readonly Part[];

/**
 * A page's markup: every text that is put in is escaped, also inside attributes in double quotes, and
 * moments are told by the desk's clock; `Html` and lists of
 * it go in as they are.
 */
export const html = (fixed: TemplateStringsArray, ...parts: readonly Part[]): Html =>
  new Html(fixed.map((text, index) => text + (index < parts.length ? markupOf(parts[index] ?? '') : '')).join(''));

/** No markup. */
export const nothing = new Html('');

const markupOf = (part: Part): string => {
  if (part instanceof Html) return part.markup;
  return typeof part === 'object' ? part.map(markupOf).join('') : escapeText(inZone(String(part)));
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
/** What is never broken in two: a build, a box with the word behind it. */
export const kept = (content: Html | string): Html => html`<span class="keep">${content}</span>`;

const longestWhole = 24;

/** A build in a column of a table: whole, or where no column could hold it broken behind its signs alone. */
export const buildText = (build: string): Html =>
  build.length <= longestWhole ? kept(html`<bdi>${build}</bdi>`) : nameText(build);

/**
 * A file's name in a column of a table: broken behind its signs alone, never inside a version or before its ending; and
 * where it has none for long, anywhere.
 */
export const nameText = (name: string): Html =>
  html`<bdi>${(name.match(/[^_+-]+[_+-]*|[_+-]+/g) ?? []).map(
    (piece) => html`${piece.length > longestWhole ? piece : kept(piece)}<wbr>`,
  )}</bdi>`;

/** A text in which none of PARTS is broken. */
export function keepingWhole(text: string, parts: readonly string[]): readonly (Html | string)[] {
  const [part, ...others] = parts.filter((one) => one !== '' && text.includes(one));
  if (part === undefined) return [text];
  return text
    .split(part)
    .flatMap((piece, index) => [
      ...(index === 0 ? [] : [kept(html`<bdi>${part}</bdi>`)]),
      ...keepingWhole(piece, others),
    ]);
}

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
.keep { white-space: nowrap; }
.keep > .box { margin-right: .25em; }
.line { display: inline-block; border-bottom: .3mm solid; vertical-align: baseline; }
h1, h2, h3, p, dl, dd, dt { margin: 0; }
@media screen { html { background: #ddd; } main { width: max-content; margin: 8mm auto; } main > * { background: #fff; padding: 7mm; margin-bottom: 8mm; } }
`;

/** What stands on every sheet: whose it is, and of when. */
export interface SheetLine {
  readonly round: string;
  /** RFC 3339. */
  readonly plannedAt: string;
}

/** `Round quillhaven, planned 2026-11-28 08:30 CET`. */
export const sheetWords = ({ round, plannedAt }: SheetLine): string => inZone(`Round ${round}, planned ${plannedAt}`);

/** A text as a string of CSS: whatever could end it stands there by its number (CSS Syntax Level 3, 4.3.7). */
const cssString = (text: string): string =>
  `"${visibleLines(text).replace(/[^\p{L}\p{N} .,:()-]/gu, (one) => `\\${(one.codePointAt(0) ?? 0).toString(16)} `)}"`;

/** Round, date and page in the margin of every sheet (CSS Paged Media Level 3, 4). */
export const inPageMargin = (line: SheetLine): string => `
@page { @bottom-left { content: ${cssString(sheetWords(line))}; font: 8pt sans-serif; } @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; } }`;

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
