import { type FleetExamples, proposeFamily, writeFamilyYaml } from '../../core/label/propose-family.ts';
import type { FamilyNewReport } from '../../core/report/reports.ts';
import { findFamilyPlaces, readFamilies, userFamilyFolder } from '../../io/families/load-families.ts';
import { parseFamily } from '../../io/families/parse-family.ts';
import { fleetExamplesForm, readFleetExamples, writeFamilyFile } from '../../io/families/write-family-file.ts';
import { serialise } from '../../render/json/serialise.ts';
import { familyNewDocument } from '../../render/json/stick-documents.ts';
import { tame } from '../../render/text/page.ts';
import { renderFamilyProposal, renderFamilyWritten } from '../../render/text/render-family.ts';
import { checkFamilyFiles } from '../../workflows/read-panel-label.ts';
import { askFleetExamples } from '../ask-fleet-examples.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { ask } from '../interruption.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface FamilyNewOptions {
  readonly from?: string | undefined;
  readonly to?: string | undefined;
  readonly dryRun?: true | undefined;
  readonly yes?: true | undefined;
  readonly json?: true | undefined;
}

export async function runFamilyNew(options: FamilyNewOptions): Promise<number> {
  refuseWithoutTerminal(options);
  const folder = options.to ?? userFamilyFolder();
  const examples =
    options.from === undefined ? await askFleetExamples().catch(stopped) : await readFleetExamples(options.from);
  const proposed = await propose(examples, folder);
  const look = lookOf(process.stdout, process.env);
  if (!options.json) await say(renderFamilyProposal(proposed, look));
  const sound = proposed.verdict !== 'not-ready';
  const writes = sound && !options.dryRun && (options.yes === true || (await askToWrite(folder, examples.family)));
  const path = writes ? await writeFamilyFile(folder, examples.family, proposed.text) : undefined;
  const report = { ...proposed, path };
  const exitCode = exitCodeOf(report.verdict);
  await say(options.json ? serialise(familyNewDocument(report, exitCode)) : renderFamilyWritten(report, look));
  return exitCode;
}

/** Ctrl-C at a question is no fault of the tool. */
function stopped(cause: unknown): never {
  if (cause instanceof Error && cause.name === 'ExitPromptError') throw new Error('interrupted by Ctrl-C', { cause });
  throw cause;
}

function refuseWithoutTerminal({ from, dryRun, yes, json }: FamilyNewOptions): void {
  if (from === undefined && (json || !isInteractive())) {
    throw new UsageError(
      'Nobody is here to be asked: this is not a terminal, or --json was given.',
      `Write the examples into a file and give it with --from:\n${fleetExamplesForm}`,
    );
  }
  if (!dryRun && !yes && (json || !isInteractive())) {
    throw new UsageError(
      'Nobody is here to agree: this is not a terminal, or --json was given.',
      'Look at the proposal with --dry-run, then run it again with --yes.',
    );
  }
}

/** The proposal, and what the check says of its file: alone, and beside the families that lie where it is to go. */
async function propose(examples: FleetExamples, folder: string): Promise<FamilyNewReport> {
  const { proposal, ...refusal } = proposeFamily(examples);
  if (proposal === undefined) {
    const because = 'because' in refusal ? refusal.because : '';
    throw new UsageError(
      `No pattern reads these examples: ${because}.`,
      'Give each part exactly as it stands in its label or name, the same parts in the same order, and two different examples.',
    );
  }
  const text = writeFamilyYaml(proposal);
  const { family, findings } = parseFamily(`${examples.family}.yaml`, Buffer.from(text));
  // A file of the same name is never written over, so it need not be compared with itself.
  const there = (await familiesIn(folder)).filter((one) => one.family !== examples.family);
  const beside = checkFamilyFiles({ families: [...there, ...(family === undefined ? [] : [family])], findings });
  return { command: 'family new', verdict: beside.verdict, findings: beside.findings, proposal, text, path: undefined };
}

async function familiesIn(folder: string) {
  const { paths } = await findFamilyPlaces([folder], {});
  // A folder that is missing or holds no family yet has none to compare with.
  return await readFamilies(paths).then(
    ({ families }) => families,
    () => [],
  );
}

async function askToWrite(folder: string, family: string): Promise<boolean> {
  const { confirm } = await import('@inquirer/prompts');
  const message = `Write ${tame(family)}.yaml into ${tame(folder)}?`;
  return await ask((asking) => confirm({ message, default: true }, asking));
}
