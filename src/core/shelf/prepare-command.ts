export interface CommandWords {
  readonly label: string;
  readonly running: string | undefined;
  /** Words that must be repeated because the person gave them: `--shelf DIR`, `--family FILE`. */
  readonly options: readonly string[];
}

/** The command that makes a stick from what `find` chose; the mode is the person's decision, and in-OS comes first. */
export function prepareCommand({ label, running, options }: CommandWords): string {
  const words = [
    'stickwright',
    'prepare',
    '--from-shelf',
    '--mode',
    'in-os',
    '--label',
    label,
    ...(running === undefined ? [] : ['--running', running]),
    ...options,
  ];
  return `${words.map(quoteWord).join(' ')} --stick STICK`;
}

/** A word that a POSIX shell, cmd and PowerShell all read as it is: double quotes where those change nothing inside. */
export function quoteWord(word: string): string {
  if (/^[\w./:@%+=,-]+$/.test(word) && !word.includes('%')) return word;
  return /["$`!]/.test(word) && !word.includes("'") ? `'${word}'` : `"${word}"`;
}
