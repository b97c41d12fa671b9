import { readFileSync } from 'node:fs';
import { type Command, InvalidArgumentError, Option } from '@commander-js/extra-typings';

const packageFile = new URL('../../package.json', import.meta.url);

/** As package.json says. */
export const toolVersion: string = (JSON.parse(readFileSync(packageFile, 'utf8')) as { version: string }).version;

export const collect = (value: string, all: readonly string[]): readonly string[] => [...all, value];

/** As people write one of a few words: `in-OS`, `In_OS`, `Recovery`. */
const plainWord = (word: string): string => word.toLowerCase().replace(/[^a-z0-9]/g, '');

/** The one of CHOICES that a word stands for, however it is written. */
export const choiceFor = <Word extends string>(choices: readonly Word[], text: string): Word | undefined =>
  choices.find((choice) => plainWord(choice) === plainWord(text));

/** For an option that takes one of CHOICES. What is none is said before commander comes to read it. */
export const oneOf =
  <Word extends string>(choices: readonly Word[]) =>
  (text: string): Word => {
    const meant = choiceFor(choices, text);
    if (meant !== undefined) return meant;
    throw new InvalidArgumentError(`Allowed are ${choices.join(', ')}.`);
  };

export const family = () =>
  new Option('-f, --family <file-or-dir>', 'panel family file or folder; may be given several times')
    .argParser(collect)
    .default([] as readonly string[], 'STICKWRIGHT_FAMILIES, or your own folder');
export const signer = () =>
  new Option('--signer <file>', 'certificate that you trust to sign packages (PEM or DER); several are possible')
    .argParser(collect)
    .default([] as readonly string[], 'none');
export const shelf = () => new Option('--shelf <dir>', 'the shelf (default: STICKWRIGHT_SHELF, or your own)');
export const expected = (algorithm: 'sha256' | 'sha512' | 'sha1' | 'md5') =>
  new Option(
    `--expect-${algorithm} <hex>` as const,
    algorithm === 'sha256'
      ? 'the hash that the maker publishes; files beside the archive are found'
      : 'the same, of that kind',
  );
export const expectedBytes = () =>
  new Option('--expect-bytes <n>', 'the exact length in bytes that the maker publishes');
/** What every command takes; the help of all names them once. */
export const wordsOfAll = (): readonly Option[] => [
  new Option('-q, --quiet', 'nothing but the answer, and what went wrong').hideHelp(),
  new Option('-v, --verbose', 'also what is used and from where').hideHelp(),
  new Option('--color <when>', 'auto: where a terminal shows it').choices(['auto', 'always', 'never']).hideHelp(),
  new Option('--debug', 'show where in the code something went wrong').hideHelp(),
];

export const json = () => new Option('-j, --json', 'one JSON document on stdout and nothing else there');
export const untried = () =>
  new Option(
    '--untried',
    'on macOS and Windows: erase the drive although that way has never run on a real machine; it was only reasoned, and may leave the drive unusable',
  );
export const accept = () =>
  new Option('--accept <code>', 'go on despite this stop; needs --because')
    .argParser(collect)
    .default([] as readonly string[], 'nothing');
export const because = (where: string) =>
  new Option('--because <text>', `why; it goes into the ${where}`)
    .argParser(collect)
    .default([] as readonly string[], 'no reason');

export const round = () =>
  new Option('--round <dir>', 'folder of the round (default: STICKWRIGHT_ROUND, or the only *.round here)');

export const panelLabel = () =>
  new Option('-l, --label <text>', "the label on the panel's back, where a room has several panels");
export const panelSerial = () => new Option('--serial <text>', "the panel's serial, where a room has several panels");

export const examples = (...lines: readonly string[]): string =>
  `Examples:\n${lines.map((line) => `  ${line}`).join('\n')}\n`;

const kept = new WeakMap<object, readonly string[]>();

/** Examples come first in a help: who looks for one rarely reads on. */
export function addExamples(it: Command, lines: readonly string[], after: string): void {
  kept.set(it, lines);
  it.addHelpText('before', examples(...lines)).addHelpText('after', after);
}

/** Those of a command. */
export const examplesIn = (it: object): readonly string[] => kept.get(it) ?? [];

export const exitCodesHelp = `
Exit codes: 0 ready, 1 not ready, 2 wrong words, 3 no answer, 4 unproven,
  70 fault of the tool, 130 or 143 stopped.
`;

/** What the exit codes of one command mean, where that is not what they usually do. */
export const endings = (ready: string, notReady?: string, unproven?: string): string => {
  const own = [`0 ${ready}`, ...(notReady ? [`1 ${notReady}`] : []), ...(unproven ? [`4 ${unproven}`] : [])];
  const line = `Exit codes: ${own.join(', ')};`;
  return `\n${line.length > 80 ? line.replaceAll(/, (?=\d)/g, ',\n  ') : line}\n  2 wrong words, 3 no answer, 70 fault of the tool, 130 or 143 stopped.\n`;
};
