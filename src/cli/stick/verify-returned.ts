import { randomUUID } from 'node:crypto';
import { stat } from 'node:fs/promises';
import type { Finding } from '../../core/findings/finding.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { ReturnedReport } from '../../core/report/medium-reports.ts';
import type { RoundFolder } from '../../io/rounds/rounds.ts';
import { fileNamed, portsOfDesk, type RoundChoice, roundFolderFor, whoIs } from '../desk.ts';
import { confirmed, expectAgreement } from '../frame/agree.ts';
import type { Frame } from '../frame/command.ts';
import { exitCodeOf, exitCodes, UsageError } from '../frame/exit-codes.ts';

interface ReturnedOptions {
  readonly label?: string | undefined;
  readonly mode?: Mode | undefined;
  readonly quick?: true | undefined;
  readonly sealFrom?: string | undefined;
  readonly clear?: true | undefined;
  readonly yes?: true | undefined;
  readonly keepLeft?: string | undefined;
  readonly round?: string | undefined;
  readonly who?: string | undefined;
}

/**
 * What became of a stick that came back, and the words for it: less those that were shown before somebody was asked.
 */
export type ReturnedAnswer = ReturnedReport & { readonly inWords: string };

/** `verify --returned`: what was left on it, whether it was changed; with `--clear` it is cleared for its next job. */
export async function verifyReturned(target: string, options: ReturnedOptions, frame: Frame): Promise<ReturnedAnswer> {
  const clears = options.clear === true;
  const todo = 'Look at what would go with --returned alone, then run it again with --clear --yes.';
  expectAgreement(frame, !clears || options.yes === true, todo);
  const round = await roundToNote(options);
  const { keepLeft, liesOn } = await import('../../io/files/keep-left.ts');
  if (options.keepLeft !== undefined && (await liesOn(target, options.keepLeft)))
    throw new UsageError(`${options.keepLeft} lies on the stick.`, 'Name a folder of this computer with --keep-left.');
  const { settleDirtyMark } = await import('../../io/medium/settle-dirty-mark.ts');
  const { trustedKeys } = await import('../../io/files/desk-key.ts');
  const { renderCleared, renderReturned } = await import('../../render/text/render-returned.ts');
  const { returnedStick } = await import('../../workflows/returned-stick.ts');
  const shown = new Set<Finding>();
  const request = {
    target,
    label: options.label,
    mode: options.mode,
    quick: options.quick === true,
    sealFrom: trustedKeys(options.sealFrom && (await fileNamed(options.sealFrom)), process.env),
    clear: clears,
    agreed: options.yes === true,
    keepLeft: options.keepLeft,
  };
  const report = await returnedStick(
    request,
    { ...(await portsOfDesk()), keepLeft, settleDirtyMark },
    {
      ...frame.atWork(),
      propose: async (proposed) => {
        for (const found of proposed.clearing.findings) shown.add(found);
        await frame.show(renderReturned(proposed, frame.look));
      },
      agree: () => confirmed(`Clear ${target} as shown?`),
    },
  );
  const inWords = renderCleared(report, shown, frame.look);
  try {
    const noted = round === undefined ? '' : await noteInRound(round, report, options.who);
    return { ...report, inWords: `${inWords}${noted}` };
  } catch (error) {
    // With --json stdout takes one document: that of the failure.
    await frame.show(inWords);
    throw error;
  }
}

/** Clearing that was asked for and done is done, whatever the stick was before. */
export function exitCodeOfReturned({ clearing, verdict }: ReturnedReport): number {
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

/** Only a round that somebody named: a stick may be looked at anywhere. */
async function roundToNote({ round, who }: RoundChoice): Promise<RoundFolder | undefined> {
  if (round === undefined && (process.env.STICKWRIGHT_ROUND ?? '') === '') return undefined;
  const folder = await roundFolderFor({ round, who });
  if ((await stat(folder.place).catch(() => undefined))?.isDirectory()) return folder;
  throw new UsageError(
    `There is no folder of a round at ${folder.place}.`,
    'Check the path, and whether a shared folder is connected.',
  );
}

/** Adds the record, and says so. */
async function noteInRound(folder: RoundFolder, report: ReturnedReport, who: string | undefined): Promise<string> {
  const { noteReturned } = await import('../../workflows/round-note-returned.ts');
  const { now, digesting } = await portsOfDesk();
  const desk = { folder, sha256: digesting.sha256, now, newId: randomUUID };
  const noted = await noteReturned(report, whoIs(who), desk);
  return noted === undefined
    ? 'Not noted in the round: without a manifest nobody can say which stick it is.\n'
    : `Noted in the round at ${folder.place}.\n`;
}
