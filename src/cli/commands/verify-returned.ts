import { randomUUID } from 'node:crypto';
import { realpath, stat } from 'node:fs/promises';
import { resolve, sep } from 'node:path';
import { topPaths } from '../../core/checks/returned/check-returned.ts';
import { isOfPanel } from '../../core/checks/returned/sort-contents.ts';
import type { Finding } from '../../core/findings/finding.ts';
import type { ReturnedReport } from '../../core/report/returned-report.ts';
import { sealRecord } from '../../core/rounds/records/seal-record.ts';
import { keepLeft } from '../../io/left/keep-left.ts';
import { settleDirtyMark } from '../../io/medium/settle-dirty-mark.ts';
import type { RoundFolder } from '../../io/rounds/rounds.ts';
import { readTrustedKey } from '../../io/seal/desk-key.ts';
import { returnedDocument } from '../../render/json/returned-document.ts';
import { serialise } from '../../render/json/to-json.ts';
import { renderCleared, renderReturned } from '../../render/text/render-returned.ts';
import { returnedStick } from '../../workflows/returned-stick.ts';
import { exitCodeOf, exitCodes } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { makePorts } from '../make-ports.ts';
import { startProgress } from '../progress.ts';
import { roundFolderFor, whoIs } from '../round-folder-for.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';
import type { VerifyOptions } from './verify.ts';

export interface VerifyReturnedOptions extends VerifyOptions {
  readonly clear?: true | undefined;
  readonly yes?: true | undefined;
  readonly keepLeft?: string | undefined;
  readonly round?: string | undefined;
  readonly who?: string | undefined;
}

/** Most items that are shown before a question. */
const mostItems = 60;

export async function runVerifyReturned(target: string, options: VerifyReturnedOptions): Promise<number> {
  const { keepLeft: keepAt, json } = options;
  const clears = options.clear === true;
  if (clears && !options.yes && (json || !isInteractive())) {
    throw new UsageError(
      'Nobody is here to agree: this is not a terminal, or --json was given.',
      'Look at what would go with --returned alone, then run it again with --clear --yes.',
    );
  }
  if (keepAt !== undefined) await checkOutside(target, keepAt);
  const round = await roundOf(options);
  const look = lookOf(process.stdout, process.env);
  const shown = new Set<Finding>();
  const interruption = watchInterruption(process.stderr);
  const progress = startProgress(process.stderr, { quiet: json === true });
  try {
    const request = {
      target,
      label: options.label,
      quick: options.quick === true,
      sealFrom: options.sealFrom === undefined ? undefined : readTrustedKey(options.sealFrom),
      clear: clears,
      agreed: options.yes === true,
      keepLeft: keepAt,
    };
    const report = await returnedStick(
      request,
      { ...makePorts(), keepLeft, settleDirtyMark },
      {
        tell: progress.tell,
        signal: interruption.signal,
        propose: async (proposed) => {
          progress.end();
          for (const found of proposed.clearing.findings) shown.add(found);
          const most = options.yes ? Number.POSITIVE_INFINITY : mostItems;
          if (!json) await say(renderReturned(proposed, look, most));
        },
        agree: () => askToClear(target),
      },
    );
    progress.end();
    const exitCode = exitCodeOfReturned(report);
    const noting = round === undefined ? '' : note(round, report, options);
    const [noted] = await Promise.allSettled([noting]);
    // With --json stdout takes one document: that of the failure, where there is one.
    if (!json) await say(renderCleared(report, shown, look));
    if (noted?.status === 'rejected') throw noted.reason;
    await say(json ? serialise(returnedDocument(report, exitCode)) : (noted?.value ?? ''));
    return exitCode;
  } finally {
    progress.end();
    interruption.end();
  }
}

async function askToClear(target: string): Promise<boolean> {
  const { confirm } = await import('@inquirer/prompts');
  const message = `Clear ${target} as shown?`;
  return await confirm({ message, default: false }, { output: process.stderr }).catch(() => false);
}

/** What is cleared away must not be kept on the stick itself. */
async function checkOutside(target: string, dir: string): Promise<void> {
  const stick = await realpath(target).catch(() => resolve(target));
  let folder = resolve(dir);
  // The folder may be new; what is there of its path says where it will lie.
  for (;;) {
    const real = await realpath(folder).catch(() => undefined);
    if (real !== undefined || folder === resolve(folder, '..')) {
      folder = real ?? folder;
      break;
    }
    folder = resolve(folder, '..');
  }
  if (folder !== stick && !folder.startsWith(stick.endsWith(sep) ? stick : `${stick}${sep}`)) return;
  throw new UsageError(`${dir} lies on the stick.`, 'Name a folder of this computer with --keep-left.');
}

/** Only a round that somebody named: a stick may be looked at anywhere. */
async function roundOf({ round, who }: VerifyReturnedOptions): Promise<RoundFolder | undefined> {
  if (round === undefined && (process.env.STICKWRIGHT_ROUND ?? '') === '') return undefined;
  const folder = await roundFolderFor({ round, who });
  if ((await stat(folder.place).catch(() => undefined))?.isDirectory()) return folder;
  throw new UsageError(
    `There is no folder of a round at ${folder.place}.`,
    'Check the path, and whether a shared folder is connected.',
  );
}

/** Adds the record, and says so. */
async function note(round: RoundFolder, report: ReturnedReport, { who }: VerifyReturnedOptions): Promise<string> {
  if (report.manifest === undefined) {
    return 'Not noted in the round: without a manifest nobody can say which stick it is.\n';
  }
  const ports = makePorts();
  const now = ports.now();
  const left = report.sorted.filter((entry) => entry.isNew && isOfPanel(entry));
  const record = sealRecord(
    {
      schema: 'stickwright/round-record/1',
      id: randomUUID(),
      at: now,
      notedAt: now,
      who: whoIs(who),
      kind: 'returned',
      stick: report.manifest.stick,
      state: report.state,
      left: [...topPaths(left, 'panel-mark', 'panel-log', 'panel-file')],
      cleared: report.clearing.state === 'cleared',
    } as const,
    ports.digesting.sha256,
  );
  await round.append([record]);
  return `Noted in the round at ${round.place}.\n`;
}

/** Clearing that was asked for and done is done, whatever the stick was before. */
function exitCodeOfReturned({ clearing, verdict }: ReturnedReport): number {
  switch (clearing.state) {
    case 'cleared':
      return exitCodes.ready;
    case 'unfinished':
      return exitCodes.interrupted;
    case 'refused':
    case 'declined':
      return exitCodes['not-ready'];
    case 'not-asked':
      return exitCodeOf(verdict);
  }
}
