import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join, resolve, sep } from 'node:path';
import { severityOf } from '../../src/core/findings/finding.ts';
import { soundArchives } from '../fixtures/archives/defects.ts';
import type { WholeReading } from '../fixtures/archives/read-bytes.ts';
import { mutate, type Random, randomFrom } from './mutate.ts';
import { PythonReader, readWith7z, readWithUnzip } from './other-readers.ts';

/** What the reading of one case gives; it may come from another process. */
export interface CaseReading {
  readonly stops: readonly string[];
  /** Anything said beside stops and notes: then other readers may disagree. */
  readonly cautions: readonly string[];
  /** Names of files, in file order. */
  readonly names: readonly string[];
  /** Name and SHA-256 of each file that was heard whole and sound. */
  readonly heard: readonly (readonly [string, string])[];
}

export interface FuzzRun {
  readonly seed: number;
  /** Whichever comes first. */
  readonly mostCases: number;
  readonly mostMs: number;
  readonly folder: string;
  /** Sound archives beside the project's own. */
  readonly more: readonly Buffer[];
  /** Throws on a crash or a hang. */
  readonly read: (path: string) => Promise<CaseReading>;
}

export interface FuzzResult {
  readonly cases: number;
  readonly fine: number;
  readonly slowestMs: number;
  /** Each with the case's number; the file is left in the folder. */
  readonly faults: readonly string[];
}

export const toCase = ({ stops, findings, facts, heard }: WholeReading): CaseReading => ({
  stops,
  cautions: findings.filter((found) => severityOf(found) === 'caution').map(({ code }) => code),
  names: facts.entries.filter(({ folder }) => !folder).map(({ name }) => name),
  heard: [...heard],
});

/** The small sound archives of a folder of public test data. */
export async function soundCorpora(corpora: string, table: readonly (readonly string[])[]): Promise<readonly Buffer[]> {
  const files = table
    .filter(([, , answer]) => answer === 'passes')
    .map(([file]) => join(corpora, 'archives', file ?? ''));
  const read = await Promise.all(files.map((file) => readFile(file)));
  return read.filter((bytes) => bytes.length < 300_000);
}

/** Mutates sound archives and holds every answer to what a safe reader may say. */
export async function fuzzArchives(run: FuzzRun): Promise<FuzzResult> {
  const sound = [...Object.values(soundArchives).map((make) => make()), ...run.more];
  const random = randomFrom(run.seed);
  const python = new PythonReader();
  const faults: string[] = [];
  const startedMs = performance.now();
  let cases = 0;
  let fine = 0;
  let slowestMs = 0;
  await mkdir(run.folder, { recursive: true });
  const pick = (from: Random): Buffer => sound[from(sound.length)] as Buffer;
  try {
    for (; cases < run.mostCases && performance.now() - startedMs < run.mostMs; cases += 1) {
      const path = join(run.folder, 'case.zip');
      const bytes = mutate(pick(random), pick(random), random);
      await writeFile(path, bytes);
      const beforeMs = performance.now();
      const fault = await run.read(path).then(
        async (reading) => {
          slowestMs = Math.max(slowestMs, performance.now() - beforeMs);
          if (reading.stops.length > 0) return undefined;
          if (reading.cautions.length > 0) return leavesTarget(reading);
          fine += 1;
          return leavesTarget(reading) ?? (await faultIn(path, reading, python));
        },
        (cause: Error) => `${cause.message}`,
      );
      if (fault !== undefined) {
        faults.push(`case ${cases} of seed ${run.seed}: ${fault}`);
        await writeFile(join(run.folder, `fault-${run.seed}-${cases}.zip`), bytes);
      }
    }
  } finally {
    python.close();
  }
  return { cases, fine, slowestMs, faults };
}

function leavesTarget({ names }: CaseReading): string | undefined {
  const target = resolve('target');
  const outside = names.find((name) => !resolve(target, name).startsWith(target + sep));
  return outside === undefined ? undefined : `"${outside}" would leave the target`;
}

/** Three other readers must see the same files with the same content where ours says that all is well. */
async function faultIn(path: string, reading: CaseReading, python: PythonReader): Promise<string | undefined> {
  if (reading.heard.length !== reading.names.length) return 'not every file was heard';
  const ascii = reading.names.every((name) => /^[\x20-\x7e]*$/.test(name));
  const unzip = readWithUnzip(path);
  const seven = readWith7z(path);
  const answer = await python.read(path);
  if (unzip.exitCode !== 0 && unzip.exitCode !== 1) return `unzip -t ends with ${unzip.exitCode}`;
  if (seven.exitCode !== 0 && seven.exitCode !== 1) return `7z t ends with ${seven.exitCode}`;
  if ('error' in answer) return `Python refuses: ${answer.error}`;
  const names = ascii ? reading.names.toSorted().join('\n') : String(reading.names.length);
  const compared = (list: readonly string[]): string => (ascii ? list.toSorted().join('\n') : String(list.length));
  if (compared(unzip.names) !== names) return `unzip lists ${unzip.names.join(', ')}`;
  if (compared(seven.names) !== names) return `7z lists ${seven.names.join(', ')}`;
  if (answer.count !== reading.names.length) return `Python lists ${answer.count} files`;
  const contents = (pairs: readonly (readonly [string, string])[]): string =>
    pairs
      .map(([name, sha256]) => (ascii ? `${sha256} ${name}` : sha256))
      .toSorted()
      .join('\n');
  return contents(Object.entries(answer.files)) === contents(reading.heard) ? undefined : 'Python reads other content';
}
