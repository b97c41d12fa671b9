import type { FamilyReport } from '../../core/report/reports.ts';
import { findFamilyPlaces, readFamilies, userFamilyFolder } from '../../io/families/load-families.ts';
import { expandPatterns } from '../../io/files/expand-patterns.ts';
import { serialise } from '../../render/json/serialise.ts';
import { familyDocument } from '../../render/json/stick-documents.ts';
import { renderFamilies, renderFamily, renderFamilyCheck } from '../../render/text/render-family.ts';
import { checkFamilyFiles } from '../../workflows/read-panel-label.ts';
import { exitCodeOf, exitCodes } from '../exit-codes.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

interface JsonOption {
  readonly json?: true | undefined;
}
interface FamilyOptions extends JsonOption {
  readonly family: readonly string[];
}

const look = () => lookOf(process.stdout, process.env);

export async function runFamilyCheck(named: readonly string[], options: JsonOption): Promise<number> {
  const { paths } = await findFamilyPlaces(await expandPatterns(named), process.env);
  if (paths.length === 0) throw noFamilies();
  const report = checkFamilyFiles(await readFamilies(paths));
  return await answer(report, options, renderFamilyCheck(report, look()));
}

export async function runFamilyList(options: FamilyOptions): Promise<number> {
  const { families } = await loadFamiliesFor(options.family);
  const report: FamilyReport = { command: 'family list', verdict: 'ready', findings: [], families };
  return await answer(report, options, renderFamilies(families, userFamilyFolder(), look()));
}

export async function runFamilyShow(name: string, options: FamilyOptions): Promise<number> {
  const { families } = await loadFamiliesFor(options.family);
  const family = families.find((one) => one.family === name);
  if (family === undefined) {
    const known = families.map((one) => one.family).join(', ');
    throw new UsageError(`There is no family ${name}.`, known === '' ? noFamilies().todo : `There are: ${known}.`);
  }
  const report: FamilyReport = { command: 'family show', verdict: 'ready', findings: [], families: [family] };
  return await answer(report, options, renderFamily(family, look()));
}

async function answer(report: FamilyReport, { json }: JsonOption, text: string): Promise<number> {
  const exitCode = report.command === 'family check' ? exitCodeOf(report.verdict) : exitCodes.ready;
  await say(json ? serialise(familyDocument(report, exitCode)) : text);
  return exitCode;
}

const noFamilies = (): UsageError =>
  new UsageError(
    'There are no family files.',
    `Name a file or a folder, set STICKWRIGHT_FAMILIES, put files into ${userFamilyFolder()}, or make one: stickwright family new.`,
  );
