import { styleText } from 'node:util';
import stringWidth from 'string-width';
import wrapAnsi from 'wrap-ansi';
import { visible, visibleLines } from '../../core/text/visible.ts';
import { inZone } from '../zone.ts';

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
 * What is to be copied as it stands: a line that is a command, a command in a sentence, what stands in quotation marks
 * or backticks. A line may be longer for it; so it may for a path or a hash, which have no space to be broken at.
 */
const toCopy =
  /^\s*(?:stickwright|--[a-z]).*$|`[^`\n]+`|"[^"\n]{1,60}"|\bstickwright(?: (?:shelf|round|family|seal))? [a-z]+(?: (?:--?[a-z][\w-]*|[A-Z][A-Z-]*(?=[ .,;:)]|$)|<[^>\n]+>|"[^"\n]*"))*/g;
/** A private character of Unicode that stands for a space at which no line ends. */
const held = '\uE000';

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
      const whole = inZone(line.trimStart()).replace(toCopy, (words) => words.replaceAll(' ', held));
      return wrapAnsi(whole, width)
        .split('\n')
        .map((part) => `${' '.repeat(indent + own)}${part.replaceAll(held, ' ')}`.trimEnd());
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
