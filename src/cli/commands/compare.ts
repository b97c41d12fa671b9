import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { readLabel, readPackageName } from '../../core/label/read-label.ts';
import type { Family } from '../../core/model/family.ts';
import { openShelf } from '../../io/shelf/open-shelf.ts';
import { findShelfPlace } from '../../io/shelf/shelf-folder.ts';
import { serialise } from '../../render/json/serialise.ts';
import { compareDocument } from '../../render/json/shelf-to-json.ts';
import { renderCompare } from '../../render/text/render-shelf-find.ts';
import { compareWithName, compareWithShelf } from '../../workflows/shelf-find.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { lookOf, say } from '../screen.ts';

export interface CompareOptions {
  readonly running: string;
  readonly shelf?: string | undefined;
  readonly family: readonly string[];
  readonly json?: true | undefined;
}

export async function runCompare(target: string, options: CompareOptions): Promise<number> {
  const { families } = await loadFamiliesFor(options.family);
  const question = { running: options.running, families };
  const report = (await isPackage(target, families))
    ? compareWithName(basename(target), question)
    : await compareWithShelf(target, question, await openForReading(options.shelf));
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(compareDocument(report, exitCode)) : renderCompare(report, look));
  return exitCode;
}

/** A file that is there, or a name that a family reads as a package; whatever else is given is a label. */
async function isPackage(target: string, families: readonly Family[]): Promise<boolean> {
  const isFile = await stat(target).then(
    (facts) => facts.isFile(),
    () => false,
  );
  if (isFile) return true;
  if (readLabel(target, families).readings.length > 0) return false;
  return readPackageName(basename(target), families).readings.length > 0 || /\.zip$/i.test(target);
}

const openForReading = async (named: string | undefined) =>
  (await openShelf(findShelfPlace(named, process.env), { make: false })).shelf;
