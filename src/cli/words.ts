import { Option } from '@commander-js/extra-typings';

export const collect = (value: string, all: readonly string[]): readonly string[] => [...all, value];

export const family = () =>
  new Option('--family <file-or-dir>', 'panel family file or folder; may be given several times')
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
export const json = () => new Option('--json', 'one JSON document on stdout and nothing else there');
export const accept = () =>
  new Option('--accept <code>', 'go on despite this stop; needs --because')
    .argParser(collect)
    .default([] as readonly string[], 'nothing');
export const because = (where: string) =>
  new Option('--because <text>', `why; it goes into the ${where}`)
    .argParser(collect)
    .default([] as readonly string[], 'no reason');

export const examples = (...lines: readonly string[]): string =>
  `Examples:\n${lines.map((line) => `  ${line}`).join('\n')}\n`;

export const exitCodesHelp = `
Exit codes: 0 ready, 1 not ready, 2 wrong words, 3 no answer, 4 unproven, 70 fault of the tool, 130 or 143 stopped.
`;
