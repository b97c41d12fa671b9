import { randomUUID } from 'node:crypto';
import type { LeftoverPolicy } from '../../core/model/mode.ts';
import type { Round } from '../../core/model/round.ts';
import type { RoundPrepareReport } from '../../core/report/round-reports.ts';
import type { Preparation } from '../../core/rounds/prepare/list-preparations.ts';
import { listDrives } from '../../io/drives/list-drives.ts';
import { noPlan } from '../../io/rounds/plan-file.ts';
import { openShelf } from '../../io/shelf/open-shelf.ts';
import { findShelfPlace } from '../../io/shelf/shelf-folder.ts';
import { readSigners } from '../../io/update-package/read-signers.ts';
import { roundPrepareDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { tame } from '../../render/text/page.ts';
import { renderPreparation, renderRoundPrepare } from '../../render/text/render-round-prepare.ts';
import {
  prepareRound,
  type RoundPreparePorts,
  type RoundPrepareRequest,
  type RoundPrepareRunning,
} from '../../workflows/round-prepare.ts';
import { acceptedReasons } from '../accepted-reasons.ts';
import { chooseTargets } from '../choose-targets.ts';
import { exitCodeOf, exitCodeOfErrors, exitCodes } from '../exit-codes.ts';
import { type Interruption, watchInterruption } from '../interruption.ts';
import { keepHeapSmall } from '../keep-heap-small.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { pluggedSticks } from '../plugged-sticks.ts';
import { startProgress } from '../progress.ts';
import { showBug } from '../report-failure.ts';
import { roundConversation } from '../round-conversation.ts';
import { roundFolderFor, whoIs } from '../round-folder-for.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface RoundPrepareOptions {
  readonly stick: readonly string[];
  readonly load: readonly string[];
  readonly leftovers: LeftoverPolicy;
  readonly shelf?: string | undefined;
  readonly family: readonly string[];
  readonly signer: readonly string[];
  readonly round?: string | undefined;
  readonly who?: string | undefined;
  readonly dryRun?: true | undefined;
  readonly yes?: true | undefined;
  readonly accept: readonly string[];
  readonly because: readonly string[];
  readonly json?: true | undefined;
}

export async function runRoundPrepare(options: RoundPrepareOptions): Promise<number> {
  const accepted = acceptedReasons(options);
  checkWords(options);
  const folder = await roundFolderFor(options);
  const round = await folder.plan();
  if (round === undefined) throw noPlan(folder.place);
  const { families, familiesNamed } = await loadFamiliesFor(
    options.family.length > 0 ? options.family : round.families,
  );
  const { shelf } = await openShelf(findShelfPlace(options.shelf ?? round.shelf, process.env), { make: false });
  const request: RoundPrepareRequest = {
    round,
    loads: lettersOf(options.load, round),
    who: whoIs(options.who),
    families,
    familiesNamed,
    trusted: (await Promise.all(options.signer.map(readSigners))).flat(),
    leftovers: options.leftovers,
    dryRun: options.dryRun === true,
    agreed: options.yes === true,
    accepted,
  };
  const report = await work(request, { ...makePorts(), folder, shelf, newId: randomUUID }, options);
  const exitCode = exitCodeOfRound(report);
  for (const { error } of report.sticks) showBug(error);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(roundPrepareDocument(report, exitCode)) : renderRoundPrepare(report, look));
  return exitCode;
}

/** Somebody must be there to plug sticks in, or to agree. */
function checkWords({ stick, dryRun, yes, json }: RoundPrepareOptions): void {
  if (dryRun) return;
  if (stick.length === 0 && (json || !isInteractive())) {
    throw new UsageError(
      'Nobody is here to plug sticks in: this is not a terminal, or --json was given.',
      'Name the sticks with --stick, several in their order, and agree with --yes.',
    );
  }
  if (!yes && (json || !isInteractive())) {
    throw new UsageError(
      'Nobody is here to agree: this is not a terminal, or --json was given.',
      'Look at the plan with --dry-run, then run it again with --yes.',
    );
  }
}

function lettersOf(words: readonly string[], { loads }: Round): readonly string[] {
  const letters = words.map((word) => word.trim().toUpperCase());
  const unknown = letters.find((letter) => !loads.some(({ id }) => id === letter));
  if (unknown === undefined) return letters;
  const has = loads.map(({ id }) => id).join(', ') || 'none';
  throw new UsageError(`The round has no load ${unknown}.`, `Its loads are: ${has}.`);
}

async function work(
  request: RoundPrepareRequest,
  ports: RoundPreparePorts,
  options: RoundPrepareOptions,
): Promise<RoundPrepareReport> {
  const interruption = watchInterruption(process.stderr);
  keepHeapSmall();
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  try {
    const targets = await chooseTargets(
      options.stick,
      (line) => void process.stderr.write(`${tame(line)}\n`),
      () => listDrives([options.shelf, options.round].flatMap((path) => path ?? [])),
    );
    return await prepareRound(request, ports, {
      tell: progress.tell,
      signal: interruption.signal,
      nextStick: stickSource(request, targets, options, interruption),
      ...roundConversation(options, progress.end),
    });
  } finally {
    progress.end();
    interruption.end();
  }
}

const look = () => lookOf(process.stdout, process.env);

/** The sticks that were named, in turn; else as they are plugged in. */
function stickSource(
  { families }: RoundPrepareRequest,
  targets: readonly string[],
  { dryRun, yes, json }: RoundPrepareOptions,
  { signal }: Interruption,
): RoundPrepareRunning['nextStick'] {
  const named = targets.values();
  const plugged = pluggedSticks(families, signal, yes !== true);
  return async (preparation: Preparation, left: number) => {
    const next = targets.length > 0 ? named.next().value : undefined;
    if (!json && (next !== undefined || targets.length === 0)) {
      await say(renderPreparation(preparation, left, look()));
    }
    if (targets.length > 0) return next;
    return dryRun ? undefined : await plugged.next();
  };
}

/** An interruption counts before everything, then a stick that failed, then the verdict. */
function exitCodeOfRound({ interrupted, sticks, verdict }: RoundPrepareReport): number {
  if (interrupted) return exitCodes.interrupted;
  return exitCodeOfErrors(sticks.flatMap(({ error }) => error ?? [])) ?? exitCodeOf(verdict);
}
