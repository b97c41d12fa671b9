import type { Finding } from '../../core/findings/finding.ts';
import type { LeftoverPolicy } from '../../core/model/leftover-policy.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { PrepareReport, StickAnswer } from '../../core/report/reports.ts';
import { readSigners } from '../../io/update-package/read-signers.ts';
import { prepareDocument, serialise } from '../../render/json/to-json.ts';
import { renderOutcome, renderProposal } from '../../render/text/render-report.ts';
import { type PrepareRequest, prepareSticks } from '../../workflows/prepare-sticks.ts';
import { acceptedReasons } from '../accepted-reasons.ts';
import { type ArchiveChoice, chooseArchive } from '../archive-from-shelf.ts';
import { exitCodeOf, exitCodes } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { startProgress } from '../progress.ts';
import { type ExpectedHashes, readExpectedHashes } from '../read-expected-hashes.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface PrepareOptions extends ArchiveChoice, ExpectedHashes {
  readonly mode: Mode;
  readonly label: string;
  readonly stick: readonly string[];
  readonly family: readonly string[];
  readonly signer: readonly string[];
  readonly dryRun?: true | undefined;
  readonly yes?: true | undefined;
  readonly json?: true | undefined;
  readonly leftovers: LeftoverPolicy;
  readonly accept: readonly string[];
  readonly because: readonly string[];
}

/** Most plan items that are shown before a question; a dry run shows all. */
const mostItems = 40;

export async function runPrepare(named: string | undefined, options: PrepareOptions): Promise<number> {
  const accepted = acceptedReasons(options);
  const expected = readExpectedHashes(options);
  if (options.stick.length === 0) {
    throw new UsageError(
      'No stick is named.',
      'Give --stick with a folder, drive letter, image file or device: stickwright drives',
    );
  }
  if (!options.dryRun && !options.yes && (options.json || !isInteractive())) {
    throw new UsageError(
      'Nobody is here to agree: this is not a terminal, or --json was given.',
      'Look at the plan with --dry-run, then run it again with --yes.',
    );
  }
  const { families, familiesNamed } = await loadFamiliesFor(options.family);
  const chosen = await chooseArchive(named, options, { families, accepted });
  if (chosen.archivePath === undefined) return chosen.exitCode;
  const trusted = (await Promise.all(options.signer.map(readSigners))).flat();
  const request: PrepareRequest = {
    ...chosen,
    claims: [...expected, ...chosen.claims],
    families,
    familiesNamed,
    trusted,
    mode: options.mode,
    label: options.label,
    targets: options.stick,
    leftovers: options.leftovers,
    dryRun: options.dryRun === true,
    agreed: options.yes === true,
    accepted,
  };
  const report = await work(request, options);
  const exitCode = exitCodeOfPrepare(report);
  if (options.json) await say(serialise(prepareDocument(report, exitCode)));
  return exitCode;
}

async function work(request: PrepareRequest, options: PrepareOptions): Promise<PrepareReport> {
  const look = lookOf(process.stdout, process.env);
  const interruption = watchInterruption(process.stderr);
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  const shown = new Set<Finding>();
  const propose: Propose = async (job, findings, sticks) => {
    progress.end();
    for (const found of [...findings, ...sticks.flatMap((stick) => stick.findings)]) shown.add(found);
    if (!options.json)
      await say(
        `${renderProposal(job, findings, sticks, look, options.dryRun ? Number.POSITIVE_INFINITY : mostItems)}\n`,
      );
  };
  try {
    const report = await prepareSticks(request, makePorts(), {
      tell: progress.tell,
      signal: interruption.signal,
      propose,
      agree: (sticks) => askToGoOn(sticks, request.mode),
    });
    progress.end();
    if (!options.json) await say(renderOutcome(report, shown, look));
    return report;
  } finally {
    progress.end();
    interruption.end();
  }
}

type Propose = Parameters<typeof prepareSticks>[2]['propose'];

async function askToGoOn(sticks: readonly StickAnswer[], mode: Mode): Promise<boolean> {
  const { confirm } = await import('@inquirer/prompts');
  const targets = sticks.filter(({ state }) => state === 'planned').map(({ target }) => target);
  const message = `Write ${targets.join(', ')} for ${mode} as shown?`;
  return await confirm({ message, default: false }, { output: process.stderr }).catch(() => false);
}

/** An interruption counts before everything, then a stick that failed, then the verdict. */
function exitCodeOfPrepare({ interrupted, sticks, verdict }: PrepareReport): number {
  if (interrupted) return exitCodes.interrupted;
  if (sticks.some(({ error }) => error !== undefined)) return exitCodes.toolError;
  return exitCodeOf(verdict);
}
