/** A line of a list of labels, with its number from 1. */
export interface LabelLine {
  readonly line: number;
  readonly text: string;
}

/** The labels of a list, one a line; blank lines and lines that start with `#` are none. */
export function splitLabels(text: string): readonly LabelLine[] {
  return text
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\n|\r/)
    .map((line, index) => ({ line: index + 1, text: line.trim() }))
    .filter(({ text: label }) => label !== '' && !label.startsWith('#'));
}
