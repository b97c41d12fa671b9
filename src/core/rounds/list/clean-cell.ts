import { invisible } from '../../label/invisible-characters.ts';

export interface CleanCell {
  readonly text: string;
  /** `U+0007`, … of the control characters that were taken out. */
  readonly controls: readonly string[];
  /** There were spaces of another kind, or characters that cannot be seen. */
  readonly oddSpaces: boolean;
}

/** Spaces that look like one. */
const oddSpace = /[\u00A0\u1680\u2000-\u200A\u202F\u205F\u3000]/g;
const control = /[\u0000-\u0008\u000B\u000C\u000E-\u001F\u007F-\u009F\uFFF9-\uFFFB]|\p{Cs}/gu;

/** A cell as it is understood: without what cannot be seen, ordinary spaces, trimmed; line breaks stay only where asked. */
export function cleanCell(cell: string, keepLines = false): CleanCell {
  const controls = [...new Set(cell.match(control) ?? [])].map(codeOf);
  const text = cell.replace(control, '').replace(invisible, '').replace(oddSpace, ' ');
  const lines = text.split(/\r\n|\r|\n|\u2028|\u2029/).map((line) => line.replace(/\s+/g, ' ').trim());
  return {
    text: keepLines ? lines.join('\n').trim() : lines.join(' ').replace(/ +/g, ' ').trim(),
    controls,
    oddSpaces: cell.search(oddSpace) >= 0 || cell.search(invisible) >= 0,
  };
}

const codeOf = (character: string): string =>
  `U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}`;
