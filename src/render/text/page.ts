import { styleText } from 'node:util';
import stringWidth from 'string-width';
import wrapAnsi from 'wrap-ansi';
import { visible, visibleLines } from '../../core/text/visible.ts';
import { roundedSize } from '../../core/text/words.ts';

export interface Look {
  readonly colour: boolean;
  /** Columns of the terminal, or 80. */
  readonly columns: number;
}

type Style = Parameters<typeof styleText>[0];

/** Colours a text where colours are wanted; the words carry the meaning without it. */
export const painter =
  ({ colour }: Look) =>
  (style: Style, text: string): string =>
    colour ? styleText(style, text, { validateStream: false }) : text;

/**
 * Wraps a text to the page and indents every line; its own line breaks, and what its lines are indented by, stay.
 * Whatever else could steer a terminal is made visible, so colours come around it, not into it.
 */
export function paragraph(text: string, indent: number, { columns }: Look): string {
  return visibleLines(text)
    .split('\n')
    .flatMap((line) => {
      const own = line.length - line.trimStart().length;
      const width = Math.max(20, columns - indent - own);
      return wrapAnsi(line.trimStart(), width, { hard: true })
        .split('\n')
        .map((part) => `${' '.repeat(indent + own)}${part}`.trimEnd());
    })
    .join('\n');
}

/** A text with a word in the margin before its first line. */
export function inMargin(word: string, text: string, margin: number, look: Look): string {
  const body = paragraph(text, margin, look);
  return `${padded(`  ${visible(word)}`, margin)}${body.slice(margin)}`;
}

/** Strangers' words on one line: names on sticks, in archives and documents, answers of the system. */
export const tame = visible;

export const padded = (text: string, width: number): string =>
  text + ' '.repeat(Math.max(1, width - stringWidth(text)));

/** `412,334,112 bytes (412 MB)`. */
export const exactSize = (bytes: number): string =>
  bytes < 1000 ? `${bytes} bytes` : `${bytes.toLocaleString('en-US')} bytes (${roundedSize(bytes)})`;
