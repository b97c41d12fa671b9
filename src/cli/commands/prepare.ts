import type { Finding } from '../../core/findings/finding.ts';
import type { LeftoverPolicy, Mode } from '../../core/model/mode.ts';
import type { PrepareReport, StickAnswer } from '../../core/report/reports.ts';
import { listDrives } from '../../io/drives/list-drives.ts';
import { readSigners } from '../../io/update-package/read-signers.ts';
import { serialise } from '../../render/json/serialise.ts';
import { prepareDocument } from '../../render/json/to-json.ts';
import { tame } from '../../render/text/page.ts';
import { renderOutcome, renderProposal } from '../../render/text/render-report.ts';
import type { PreparedImage } from '../../workflows/prepare-image.ts';
import { type PrepareRequest, prepareSticks } from '../../workflows/prepare-sticks.ts';
import { acceptedReasons } from '../accepted-reasons.ts';
import { type ArchiveChoice, chooseArchive } from '../archive-from-shelf.ts';
import { chooseTargets } from '../choose-targets.ts';
import { exitCodeOf, exitCodeOfErrors, exitCodes } from '../exit-codes.ts';
import { ask, watchInterruption } from '../interruption.ts';
import { keepHeapSmall } from '../keep-heap-small.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { parseSize } from '../parse-size.ts';
import { startProgress } from '../progress.ts';
import { readExpectedBytes } from '../read-expected-bytes.ts';
import { type ExpectedHashes, readExpectedHashes } from '../read-expected-hashes.ts';
import { showBug } from '../report-failure.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface PrepareOptions extends ArchiveChoice, ExpectedHashes {
  readonly mode: Mode;
  readonly label: string;
  readonly expectBytes?: string | undefined;
  readonly stick: readonly string[];
  readonly image?: string | undefined;
  readonly size?: string | undefined;
  readonly at?: string | undefined;
  readonly family: readonly string[];
  readonly signer: readonly string[];
  readonly dryRun?: true | undefined;
  readonly yes?: true | undefined;
  readonly eject?: true | undefined;
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
  const expectBytes = readExpectedBytes(options.expectBytes);
  checkOutput(options);
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
    expectBytes,
    families,
    familiesNamed,
    trusted,
    mode: options.mode,
    label: options.label,
    targets:
      options.image === undefined
        ? await chooseTargets(options.stick, noteOnStderr, () => listDrives(needed(chosen.archivePath, options)))
        : [],
    leftovers: options.leftovers,
    dryRun: options.dryRun === true,
    agreed: options.yes === true,
    accepted,
  };
  const { report, sha256 } = await work(request, options);
  const exitCode = exitCodeOfPrepare(report);
  for (const { error } of report.sticks) showBug(error);
  const image = options.image === undefined ? {} : { image: { path: options.image, sha256: sha256 ?? null } };
  if (options.json) await say(serialise({ ...prepareDocument(report, exitCode), ...image }));
  else if (sha256 !== undefined) await say(`\nImage      ${options.image}\nSHA-256    ${sha256}\n`);
  if (options.eject) await (await import('../eject-targets.ts')).ejectTargets(request.targets);
  return exitCode;
}

/** Sticks or an image, and what belongs to which. */
function checkOutput({ stick, image, size, at }: PrepareOptions): void {
  if (image === undefined && stick.length === 0) {
    throw new UsageError(
      'No stick is named.',
      'Give --stick with a folder, drive letter, image file or device: stickwright drives',
    );
  }
  if (image !== undefined && stick.length > 0) {
    throw new UsageError('Both --stick and --image are given.', 'Make the image first, then prepare the sticks.');
  }
  if (image === undefined && (size ?? at) !== undefined) {
    throw new UsageError('--size and --at belong to --image.', 'Leave them away, or make an image with --image FILE.');
  }
}

const noteOnStderr = (line: string): void => void process.stderr.write(`${tame(line)}\n`);

/** `--at` as RFC 3339; FAT knows no time before 1980 and none after 2107. */
function readMoment(text: string): string {
  const date = new Date(/^\d{4}-\d{2}-\d{2}T[\d:.]+(Z|[+-]\d{2}:\d{2})$/.test(text) ? text : Number.NaN);
  const year = date.getUTCFullYear();
  if (year >= 1980 && year <= 2107) return date.toISOString();
  throw new UsageError(`--at ${text} is no moment that FAT can hold.`, 'Write it like 2026-09-14T08:00:00Z.');
}

/** What this run reads: a stick that carries it is none of `all`. */
const needed = (archivePath: string, { family, shelf }: PrepareOptions): readonly string[] => [
  archivePath,
  ...family,
  ...(shelf === undefined ? [] : [shelf]),
];

async function work(request: PrepareRequest, options: PrepareOptions): Promise<PreparedImage> {
  const look = lookOf(process.stdout, process.env);
  const interruption = watchInterruption(process.stderr);
  keepHeapSmall();
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
    const running = {
      tell: progress.tell,
      signal: interruption.signal,
      propose,
      agree: (sticks: readonly StickAnswer[]) => askToGoOn(sticks, request.mode),
    };
    const prepared = await prepareOutput(request, options, running);
    progress.end();
    if (!options.json) await say(renderOutcome(prepared.report, shown, look));
    return prepared;
  } finally {
    progress.end();
    interruption.end();
  }
}

async function prepareOutput(
  request: PrepareRequest,
  { image, size, at }: PrepareOptions,
  running: Parameters<typeof prepareSticks>[2],
): Promise<PreparedImage> {
  const ports = makePorts();
  if (image === undefined) return { report: await prepareSticks(request, ports, running), sha256: undefined };
  const imageBytes = size === undefined || size === 'auto' ? undefined : parseSize('--size', size);
  const { prepareImage } = await import('../../workflows/prepare-image.ts');
  const files = await import('../../io/format/image-files.ts');
  const { startImage, finishImage, discardImage } = files;
  const moment = at === undefined ? ports.now() : readMoment(at);
  const imagePorts = { ...ports, now: () => moment, startImage, finishImage, discardImage };
  return prepareImage({ ...request, imagePath: image, imageBytes }, imagePorts, running);
}

type Propose = Parameters<typeof prepareSticks>[2]['propose'];

async function askToGoOn(sticks: readonly StickAnswer[], mode: Mode): Promise<boolean> {
  const { confirm } = await import('@inquirer/prompts');
  const targets = sticks.filter(({ state }) => state === 'planned').map(({ target }) => target);
  const message = `Write ${tame(targets.join(', '))} for ${mode} as shown?`;
  return await ask((asking) => confirm({ message, default: false }, asking));
}

/** An interruption counts before everything, then a stick that failed, then the verdict. */
function exitCodeOfPrepare({ interrupted, sticks, verdict }: PrepareReport): number {
  if (interrupted) return exitCodes.interrupted;
  return exitCodeOfErrors(sticks.flatMap(({ error }) => error ?? [])) ?? exitCodeOf(verdict);
}
