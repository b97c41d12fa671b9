import type { MediumPlace } from '../core/report/medium-reports.ts';
import { isTypedSize } from '../core/text/byte-size.ts';
import { roundedSize } from '../core/text/words.ts';
import { tame } from '../render/text/page.ts';
import { ask } from './interruption.ts';
import { isInteractive } from './screen.ts';
import { UsageError } from './usage-error.ts';

interface Agreement {
  readonly driveSize?: string | undefined;
  readonly yes?: true | undefined;
  readonly json?: true | undefined;
}

/** A drive's size must be typed; an image file needs a yes. */
export async function agreeToErase(medium: MediumPlace, { driveSize, yes, json }: Agreement): Promise<boolean> {
  if (medium.kind !== 'device') {
    if (yes || (medium.kind === 'new-image' && !json)) return true;
    if (json || !isInteractive())
      throw new UsageError('Nobody is here to agree that the image is erased.', 'Run it again with --yes.');
    const { confirm } = await import('@inquirer/prompts');
    return await ask((asking) => confirm({ message: `Erase ${tame(medium.target)}?`, default: false }, asking));
  }
  if (driveSize !== undefined) {
    if (isTypedSize(driveSize, medium.bytes)) return true;
    throw new UsageError(
      `The drive has ${roundedSize(medium.bytes)}, not ${driveSize}: it may be another one than you mean.`,
      'Look at maker, size and serial above, then give the size that this drive has.',
    );
  }
  if (json || !isInteractive())
    throw new UsageError(
      'Nobody is here to agree that the drive is erased.',
      'Run it again with --drive-size and the size of the drive that you mean; --yes alone is not enough for a drive.',
    );
  const { input } = await import('@inquirer/prompts');
  const message = `Everything on ${tame(medium.target)} will be lost. Type the drive's size to erase it (nothing to stop):`;
  const typed = await ask((asking) => input({ message }, asking));
  return typed.trim() !== '' && isTypedSize(typed, medium.bytes);
}
