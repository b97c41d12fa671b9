import { styleText } from 'node:util';
import stringWidth from 'string-width';
import wrapAnsi from 'wrap-ansi';
import { roundedSize } from '../../core/findings/words.ts';

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

/** Wraps a text to the page and indents every line; its own line breaks, and what its lines are indented by, stay. */
export function paragraph(text: string, indent: number, { columns }: Look): string {
  return text
    .split('\n')
    .flatMap((line) => {
      const own = line.length - line.trimStart().length;
      const width = Math.max(20, columns - indent - own);
      return wrapLine(line.trimStart(), width).map((part) => `${' '.repeat(indent + own)}${part}`.trimEnd());
    })
    .join('\n');
}

/** Printable ASCII with single spaces: as wide as it is long, so that long lists need no measuring of every character. */
const isSimple = (line: string): boolean => /^[!-~]+( [!-~]+)*$/.test(line);

function wrapLine(line: string, width: number): readonly string[] {
  const words = line.split(' ');
  if (!isSimple(line) || words.some((word) => word.length > width)) {
    return wrapAnsi(line, width, { hard: true }).split('\n');
  }
  const lines: string[] = [];
  let current = '';
  for (const word of words) {
    if (current !== '' && current.length + 1 + word.length > width) {
      lines.push(current);
      current = word;
    } else current = current === '' ? word : `${current} ${word}`;
  }
  return [...lines, current];
}

/** A text with a word in the margin before its first line. */
export function inMargin(word: string, text: string, margin: number, look: Look): string {
  const body = paragraph(text, margin, look);
  return `${padded(`  ${word}`, margin)}${body.slice(margin)}`;
}

export const padded = (text: string, width: number): string =>
  text + ' '.repeat(Math.max(1, width - stringWidth(text)));

/** `412,334,112 bytes (412 MB)`. */
export const exactSize = (bytes: number): string =>
  bytes < 1000 ? `${bytes} bytes` : `${bytes.toLocaleString('en-US')} bytes (${roundedSize(bytes)})`;

/** Replaces what could steer a terminal: names on sticks and in archives are strangers' words. */
export const tame = (text: string): string =>
  text.replace(
    /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u200e\u200f\u202a-\u202e\u2066-\u2069]/g,
    (character) => `\\x${character.charCodeAt(0).toString(16).padStart(2, '0')}`,
  );
