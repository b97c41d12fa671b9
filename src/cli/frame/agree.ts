import type { Family } from '../../core/model/family.ts';
import type { MediumPlace } from '../../core/report/medium-reports.ts';
import type { Frame } from './command.ts';
import { UsageError } from './exit-codes.ts';
import { ask } from './interruption.ts';
import { isInteractive, note } from './screen.ts';

/** Whether a person sits here who can be asked, and reads what is shown. */
export const isAskable = ({ json }: Pick<Frame, 'json'>): boolean => !json && isInteractive();

/** Before any work: where nobody agreed in advance and nobody can be asked, it would be for nothing. */
export function expectAgreement(frame: Frame, agreed: boolean, todo: string): void {
  if (agreed || isAskable(frame)) return;
  throw new UsageError('Nobody is here to agree: this is not a terminal, or --json was given.', todo);
}

/** A question with yes or no. */
export async function confirmed(message: string, otherwise = false): Promise<boolean> {
  const { confirm } = await import('@inquirer/prompts');
  const { tame } = await import('../../render/text/page.ts');
  return await ask((asking) => confirm({ message: tame(message), default: otherwise }, asking));
}

/**
 * The label as it is printed, where somebody wrote it otherwise and says that this is what they mean. Where nobody can
 * be asked, and for who agreed in advance, it stays as it is: the finding names the exact form to type.
 */
export async function labelAsMeant<Label extends string | undefined>(
  label: Label,
  families: readonly Family[],
  frame: Pick<Frame, 'json'>,
  agreed = false,
): Promise<Label | string> {
  if (label === undefined || agreed || !isAskable(frame) || families.length === 0) return label;
  const { readTidied } = await import('../../core/label/tidy-label.ts');
  const meant = readTidied(label, families);
  if (meant === undefined) return label;
  const parts = meant.readings.map(
    ({ family, parts }) =>
      `${family.title}: ${Object.entries(parts)
        .map(([part, value]) => `${part} ${value}`)
        .join(', ')}`,
  );
  note(`"${label}" is read as "${meant.normalised}".`);
  for (const line of parts) note(`  ${line}`);
  return (await confirmed('Is that what the plate says?')) ? meant.normalised : label;
}

interface Agreement {
  readonly untried?: true | undefined;
  readonly driveSize?: string | undefined;
  readonly yes?: true | undefined;
}

/** A way that never ran wants a word of its own, before anything else is asked. Throws where nobody said it. */
async function agreeToUntried(
  medium: MediumPlace,
  untried: true | undefined,
  frame: Pick<Frame, 'json'>,
  platform: NodeJS.Platform,
): Promise<boolean> {
  const { untriedWay } = await import('../../core/report/medium-reports.ts');
  const warning = untriedWay(medium, platform);
  if (warning === undefined) return true;
  if (untried) {
    note(warning);
    return true;
  }
  if (!isAskable(frame))
    throw new UsageError(
      warning,
      'If you want to be the first, with a drive that holds nothing and a person who watches, add --untried. Otherwise format the stick with what this system offers, or on Linux.',
    );
  note(warning);
  const { input } = await import('@inquirer/prompts');
  const typed = await ask((asking) =>
    input({ message: 'Type "untried" to go on all the same (nothing to stop):' }, asking),
  );
  return typed.trim().toLowerCase() === 'untried';
}

/** A drive's size must be typed; an image file needs a yes. */
export async function agreeToErase(
  medium: MediumPlace,
  { driveSize, yes, untried }: Agreement,
  frame: Pick<Frame, 'json'>,
  platform: NodeJS.Platform = process.platform,
): Promise<boolean> {
  if (!(await agreeToUntried(medium, untried, frame, platform))) return false;
  if (medium.kind !== 'device') {
    if (yes || (medium.kind === 'new-image' && !frame.json)) return true;
    if (!isAskable(frame))
      throw new UsageError('Nobody is here to agree that the image is erased.', 'Run it again with --yes.');
    return await confirmed(`Erase ${medium.target}?`);
  }
  const { isTypedSize } = await import('../../core/text/byte-size.ts');
  const { roundedSize } = await import('../../core/text/words.ts');
  if (driveSize !== undefined) {
    if (isTypedSize(driveSize, medium.bytes)) return true;
    throw new UsageError(
      `The drive has ${roundedSize(medium.bytes)}, not ${driveSize}: it may be another one than you mean.`,
      'Look at maker, size and serial above, then give the size that this drive has.',
    );
  }
  if (!isAskable(frame))
    throw new UsageError(
      'Nobody is here to agree that the drive is erased.',
      'Run it again with --drive-size and the size of the drive that you mean; --yes alone is not enough for a drive.',
    );
  const { input } = await import('@inquirer/prompts');
  const { tame } = await import('../../render/text/page.ts');
  const message = `Everything on ${tame(medium.target)} will be lost. Type the drive's size to erase it (nothing to stop):`;
  const typed = await ask((asking) => input({ message }, asking));
  return typed.trim() !== '' && isTypedSize(typed, medium.bytes);
}
