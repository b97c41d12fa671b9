import { type ChildProcessWithoutNullStreams, spawn, spawnSync } from 'node:child_process';
import { createInterface } from 'node:readline';

/** An archive's files as Python's zipfile reads them: name to SHA-256; an error where it refuses. */
export type PythonAnswer =
  | { readonly files: Readonly<Record<string, string>>; readonly count: number }
  | { readonly error: string };

const program = `
import hashlib, json, sys, warnings, zipfile
warnings.simplefilter('ignore')
for line in sys.stdin:
    try:
        with zipfile.ZipFile(json.loads(line)) as z:
            infos = [i for i in z.infolist() if not i.filename.endswith('/')]
            answer = {'count': len(infos), 'files': {i.filename: hashlib.sha256(z.read(i)).hexdigest() for i in infos}}
    except Exception as e:
        answer = {'error': repr(e)}
    print(json.dumps(answer), flush=True)
`;

/** Keeps one Python running, since starting it costs more than reading an archive. */
export class PythonReader {
  readonly #child: ChildProcessWithoutNullStreams = spawn('python3', ['-c', program]);
  readonly #lines = createInterface({ input: this.#child.stdout })[Symbol.asyncIterator]();

  async read(path: string): Promise<PythonAnswer> {
    this.#child.stdin.write(`${JSON.stringify(path)}\n`);
    const { value } = await this.#lines.next();
    return JSON.parse(value as string) as PythonAnswer;
  }

  close(): void {
    this.#child.stdin.end();
  }
}

/** A password is given, or they would ask the terminal for one and wait. */
const options = { encoding: 'utf8', timeout: 10_000 } as const;

/** What Info-ZIP's unzip says: its test's exit code (0 sound, 1 sound with a warning) and the names it lists. */
export function readWithUnzip(path: string): { readonly exitCode: number | null; readonly names: readonly string[] } {
  const test = spawnSync('unzip', ['-tqq', '-P', 'x', path], options);
  const list = spawnSync('unzip', ['-Z1', path], options);
  return { exitCode: test.status, names: list.stdout.split('\n').filter((line) => line !== '' && !line.endsWith('/')) };
}

/** What 7z says: its test's exit code (0 sound, 1 sound with a warning) and the number of files it lists. */
export function readWith7z(path: string): { readonly exitCode: number | null; readonly names: readonly string[] } {
  const test = spawnSync('7z', ['t', '-bd', '-px', '-tzip', path], options);
  const list = spawnSync('7z', ['l', '-slt', '-bd', '-px', '-tzip', path], options).stdout;
  const blocks = list.slice(list.indexOf('----------')).split('\n\n');
  const names = blocks.flatMap((block) => {
    const name = /^Path = (.*)$/m.exec(block)?.[1];
    return name === undefined || /^Folder = \+/m.test(block) ? [] : [name];
  });
  return { exitCode: test.status, names };
}
