import stringWidth from 'string-width';

/** Millimetres of a typographic point: 25.4 / 72. */
export const mmOfPt = 25.4 / 72;

/**
 * Thousandths of an em that ASCII characters take in fonts with the metrics of Helvetica, regular and bold (the AFM
 * files of Nimbus Sans). The page asks for such a font, and brings wider ones down to their width.
 */
const regular = widths(
  '278 278 355 556 556 889 667 222 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 278 584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944 667 667 611 278 278 278 469 556 222 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 278 556 500 722 500 500 500 334 260 334 584',
);
const bold = widths(
  '278 333 474 556 556 889 722 278 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 333 584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 667 944 667 667 611 333 278 333 584 556 278 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 611 389 556 333 611 556 778 556 556 500 389 280 389 584',
);

function widths(text: string): readonly number[] {
  return text.split(' ').map((thousandths) => Number(thousandths) / 1000);
}

export type Face = 'regular' | 'bold' | 'mono';

/** Fonts differ a little, and so does the rounding of browsers. */
const margin = 1.03;

/** Width in em that a text takes in a line of its own, a little more than less. */
export function textWidthEm(text: string, face: Face): number {
  let width = 0;
  for (const character of text) width += characterEm(character, face);
  return width * margin;
}

/** Other scripts by experience with the fonts of three systems, on average a little too wide. */
function characterEm(character: string, face: Face): number {
  const code = character.codePointAt(0) ?? 0;
  if (code >= 32 && code < 127) return face === 'mono' ? 0.602 : ((face === 'bold' ? bold : regular)[code - 32] ?? 1);
  const columns = stringWidth(character);
  if (columns === 0) return 0;
  if (columns === 2) return 1.02;
  if (face === 'mono') return 0.62;
  const isSmall = character === character.toLowerCase();
  const em = wide.has(character.toUpperCase()) ? (isSmall ? 0.86 : 0.98) : isSmall ? 0.62 : 0.76;
  return em * (face === 'bold' ? 1.08 : 1);
}

/** Letters of other scripts that take about an em. */
const wide: ReadonlySet<string> = new Set('ЖМФШЩЪЫЮЉЊÆŒ');

/** How many lines a text takes at most in a column. Words that are too long are broken; ideographs break anywhere. */
export function countLines(text: string, columnMm: number, pt: number, face: Face = 'regular'): number {
  const columnEm = columnMm / (pt * mmOfPt);
  const blank = textWidthEm(' ', face);
  let lines = 1;
  let used = 0;
  for (const word of text.trim().split(/\s+|(?<=[\u2e80-\u9fff\uac00-\ud7af\uff00-\uffef])/u)) {
    const width = textWidthEm(word, face);
    if (used > 0 && used + blank + width <= columnEm) {
      used += blank + width;
      continue;
    }
    if (used > 0) lines++;
    // A broken word may leave up to a letter's width unused at the end of each line.
    const broken = width > columnEm ? Math.max(1, Math.ceil(width / Math.max(1, columnEm - 1)) - 1) : 0;
    lines += broken;
    used = Math.max(0, width - broken * (columnEm - 1));
  }
  return lines;
}
