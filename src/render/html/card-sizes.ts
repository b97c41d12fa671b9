import { type Html, html, keepingWhole, paragraphShare } from './html.ts';
import { countLines, mmOfPt, textWidthEm } from './text-width.ts';

export type Paper = 'a5' | 'a6';

/** Everything that has a size on a card; what is not marked mm is in points. */
export interface CardSizes {
  readonly paper: Paper;
  /** Inside the margins. */
  readonly widthMm: number;
  readonly heightMm: number;
  readonly marginMm: number;
  /** Steps, cautions, checks. */
  readonly body: number;
  /** Stick, load, mode, builds. */
  readonly key: number;
  /** As large as they can be; a longer one is set smaller, down to the least. */
  readonly room: number;
  readonly roomLeast: number;
  readonly label: number;
  readonly labelLeast: number;
  readonly codeMm: number;
  readonly gapMm: number;
  /** Height of a line to write on. */
  readonly writeMm: number;
  /** Distance of lines in running text, as a multiple of its size. */
  readonly leading: number;
  /** The label stands beside the code, and short lists run on in lines. */
  readonly dense: boolean;
  /** What another word of the card says too is left out: see `wipeBlock`, `factsBlock`, `listBlock`. */
  readonly short: boolean;
}

/**
 * The smallest text of steps and checks. Regulation (EU) No 1169/2011, article 13, asks of print that everybody must be
 * able to read an x-height of 1.2 mm or more (from memory): 6.5 pt in a font with the metrics of Helvetica, whose
 * x-height is 0.523 em. An A5 card never needs less than 8 pt.
 */
export const leastPt = 6.5;

/**
 * What is compared from arm's length, 60 cm (room, label, stick, builds): ISO 9241-303 asks for capitals of 16 minutes
 * of arc (from memory), which is 2.8 mm, and so 11 pt.
 */
export const leastAtArmsLengthPt = 11;

const a5 = { paper: 'a5', marginMm: 7, widthMm: 148 - 14, heightMm: 210 - 14, roomLeast: 15, labelLeast: 13 } as const;
const a6 = { paper: 'a6', marginMm: 4, widthMm: 105 - 8, heightMm: 148 - 8, roomLeast: 12, labelLeast: 11 } as const;
const roomy = { ...a5, dense: false, short: false, leading: 1.2 };
const dense = { ...a5, dense: true, short: false, leading: 1.18 };
const small = { ...a6, dense: true, short: true, leading: 1.16 };

/** From roomy to dense; a card takes the first that holds it. */
export const cardSizes: Readonly<Record<Paper, readonly CardSizes[]>> = {
  a5: [
    { ...roomy, body: 10.5, key: 19, room: 44, label: 32, codeMm: 28, gapMm: 3.4, writeMm: 10 },
    { ...roomy, body: 9.8, key: 17, room: 38, label: 28, codeMm: 26, gapMm: 2.8, writeMm: 9.5 },
    { ...roomy, body: 9.2, key: 16, room: 34, label: 25, codeMm: 25, gapMm: 2.2, writeMm: 9 },
    { ...roomy, body: 8.8, key: 15, room: 30, label: 23, codeMm: 24, gapMm: 1.9, writeMm: 8.5, leading: 1.18 },
    { ...dense, body: 9.2, key: 15, room: 30, label: 22, codeMm: 25, gapMm: 1.9, writeMm: 8.5 },
    { ...dense, body: 8.8, key: 15, room: 30, label: 22, codeMm: 25, gapMm: 1.8, writeMm: 8.5 },
    { ...dense, body: 8.4, key: 14, room: 28, label: 20, codeMm: 24, gapMm: 1.6, writeMm: 8.5 },
    { ...dense, body: 8, key: 13, room: 24, label: 18, codeMm: 22, gapMm: 1.4, writeMm: 8 },
    { ...dense, body: 8, key: 12.5, room: 22, label: 17, codeMm: 21, gapMm: 1.1, writeMm: 7 },
  ],
  a6: [
    { ...small, body: 8, key: 13, room: 24, label: 18, codeMm: 23, gapMm: 1.5, writeMm: 7.5 },
    { ...small, body: 7.5, key: 12.5, room: 22, label: 17, codeMm: 21, gapMm: 1.3, writeMm: 7.2 },
    { ...small, body: 7, key: 12, room: 20, label: 16, codeMm: 20, gapMm: 1.1, writeMm: 7 },
    {
      ...small,
      body: leastPt,
      key: leastAtArmsLengthPt,
      room: 18,
      label: 15,
      codeMm: 19,
      gapMm: 0.6,
      writeMm: 5.6,
      leading: 1.1,
    },
  ],
};

/** Words above a fact. */
export const kickerOf = ({ body }: CardSizes): number => Math.max(leastPt, Math.round(body * 8.5) / 10);

/** One page of a card. What stands in `foot` goes to its lower edge. */
export interface CardPage {
  readonly sizes: CardSizes;
  readonly body: readonly Block[];
  readonly foot: readonly Block[];
}

/** A part of a card, and the height that it takes at most, with the gap after it. */
export interface Block {
  readonly html: Html;
  readonly heightMm: number;
}

/** Height of one line of running text. */
export const lineMm = (pt: number, { leading }: CardSizes): number => pt * mmOfPt * leading;

/** A paragraph that begins with a word in bold; none of KEEP is broken in two, unless no line could hold it. */
export function runIn(kind: string, lead: string, text: string, sizes: CardSizes, keep: readonly string[] = []): Block {
  const lines =
    countLines(`${lead} ${text}`, sizes.widthMm - sizes.body * 0.03 * lead.length, sizes.body) + keep.length;
  const whole = keep.filter((one) => textWidthEm(one, 'mono') * sizes.body * mmOfPt < sizes.widthMm);
  return {
    html: html`<p class="${kind}"><b>${lead}</b> <span dir="auto">${keepingWhole(text, whole)}</span></p>`,
    heightMm: lines * lineMm(sizes.body, sizes) + sizes.gapMm * paragraphShare,
  };
}

/** Round, date and page, at the lower edge of every sheet. */
export const sheetLinePt = ({ paper }: CardSizes): number => (paper === 'a5' ? 7 : leastPt);
export const sheetLineMm = (sizes: CardSizes): number => sheetLinePt(sizes) * mmOfPt * 1.15 + 0.4;

export const heightOf = (blocks: readonly Block[]): number => blocks.reduce((sum, { heightMm }) => sum + heightMm, 0);

/** For a style attribute. */
export const round = (value: number): number => Math.round(value * 100) / 100;
