import { realpath } from 'node:fs/promises';
import { resolve, sep } from 'node:path';
import type { Finding } from '../../core/findings/finding.ts';
import type { ReturnedReport } from '../../core/report/medium-reports.ts';
import { readTrustedKey } from '../../io/files/desk-key.ts';
import { keepLeft } from '../../io/files/keep-left.ts';
import { settleDirtyMark } from '../../io/medium/settle-dirty-mark.ts';
import { serialise } from '../../render/json/serialise.ts';
import { returnedDocument } from '../../render/json/stick-documents.ts';
import { tame } from '../../render/text/page.ts';
import { renderCleared, renderReturned } from '../../render/text/render-returned.ts';
import { returnedStick } from '../../workflows/returned-stick.ts';
import { exitCodeOf, exitCodes } from '../exit-codes.ts';
import { ask, watchInterruption } from '../interruption.ts';
import { makePorts } from '../make-ports.ts';
import { noteReturned, roundToNote } from '../note-returned.ts';
import { startProgress } from '../progress.ts';
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
  const round = await roundToNote(options);
  const look = lookOf(process.stdout, process.env);
  const shown = new Set<Finding>();
  const interruption = watchInterruption(process.stderr);
  const progress = startProgress(process.stderr, { quiet: json === true });
  try {
    const request = {
      target,
      label: options.label,
      mode: options.mode,
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
          if (!json) await say(renderReturned(proposed, look));
        },
        agree: () => askToClear(target),
      },
    );
    progress.end();
    const exitCode = exitCodeOfReturned(report);
    const noting = round === undefined ? '' : noteReturned(round, report, options.who);
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
  const message = `Clear ${tame(target)} as shown?`;
  return await ask((asking) => confirm({ message, default: false }, asking));
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
