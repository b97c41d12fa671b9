import type { CardSizes } from './card-sizes.ts';
import { type Html, html } from './html.ts';
import { countLines, mmOfPt, textWidthEm } from './text-width.ts';

/** Between characters, so that none runs into another; and how much a blank is wider than a character. The style says the same. */
const spacingEm = 0.07;
const blankEm = 0.37;

interface SetLabel {
  readonly html: Html;
  readonly pt: number;
  readonly heightMm: number;
}

/**
 * A label so that no character is taken for another: digits are underlined, which tells O from 0, I from 1, S from 5, B from 8, Z from
 * 2 and G from 6 in any font; a blank on the plate is a wide gap. As large as the line takes, down to a least size; then it wraps.
 */
export function setLabel(label: string, columnMm: number, sizes: CardSizes): SetLabel {
  const blanks = label.split(/\s/).length - 1;
  const widthEm = textWidthEm(label, 'mono') + [...label].length * spacingEm + blanks * blankEm;
  const fitting = columnMm / (widthEm * mmOfPt);
  const pt = Math.max(sizes.labelLeast, Math.min(sizes.label, fitting));
  // Each character of a longer one takes its spacing too, which is a seventh more than the characters alone.
  const lines = fitting >= pt ? 1 : countLines(label, columnMm * 0.85, pt, 'mono') + Math.ceil(blanks / 15);
  const runs = label.match(/\d+|\s+|[^\d\s]+/gu) ?? [];
  return {
    html: html`<bdi>${runs.map((run) => {
      if (/^\s/.test(run)) return html`<span class="blank"> </span>`;
      return /^\d/.test(run) ? html`<u>${run}</u>` : html`${run}`;
    })}</bdi>`,
    pt,
    heightMm: lines * pt * mmOfPt * 1.3,
  };
}
