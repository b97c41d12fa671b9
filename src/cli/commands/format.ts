import { randomInt } from 'node:crypto';
import { isTypedSize } from '../../core/checks/medium/is-typed-size.ts';
import { roundedSize } from '../../core/findings/words.ts';
import type { ModeRules } from '../../core/model/family.ts';
import type { Mode } from '../../core/model/mode.ts';
import { customaryRules } from '../../core/plan/mode-rules.ts';
import type { FormatWish } from '../../core/report/medium-reports.ts';
import { findMedium } from '../../io/format/find-medium.ts';
import { formatMedium, planFormat } from '../../io/format/format-medium.ts';
import { listLosses } from '../../io/format/list-losses.ts';
import { formatDocument } from '../../render/json/medium-documents.ts';
import { serialise } from '../../render/json/to-json.ts';
import { renderFormatOutcome, renderFormatPlan, renderMedium } from '../../render/text/render-format.ts';
import { type FormatProposal, type FormatRequest, formatStick } from '../../workflows/format-stick.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { parseSize } from '../parse-size.ts';
import { startProgress } from '../progress.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface FormatOptions {
  readonly for: Mode;
  readonly family: readonly string[];
  readonly size?: string | undefined;
  readonly volumeLabel?: string | undefined;
  readonly fileSystem?: FormatWish['fileSystem'] | undefined;
  readonly cluster?: string | undefined;
  readonly driveSize?: string | undefined;
  readonly yes?: true | undefined;
  readonly json?: true | undefined;
}

export async function runFormat(target: string, options: FormatOptions): Promise<number> {
  const rules = await rulesFor(options);
  const { now } = makePorts();
  const request: FormatRequest = {
    target,
    mode: options.for,
    rules,
    imageBytes: options.size === undefined ? undefined : parseSize('--size', options.size),
    wish: {
      fileSystem: options.fileSystem ?? usualFileSystem(rules),
      clusterBytes: options.cluster === undefined ? undefined : parseSize('--cluster', options.cluster),
      volumeLabel: options.volumeLabel,
      volumeSerial: randomInt(2 ** 32),
      at: now(),
    },
  };
  const look = lookOf(process.stdout, process.env);
  const interruption = watchInterruption(process.stderr);
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  try {
    const ports = { findMedium: findFor(options), listLosses, planFormat, formatMedium };
    const report = await formatStick(request, ports, {
      tell: progress.tell,
      signal: interruption.signal,
      propose: async ({ medium, losses, plan }) => {
        if (!options.json) await say(`${renderMedium(medium, losses, look)}${renderFormatPlan(plan, look)}\n`);
      },
      agree: (proposal) => agree(proposal, options),
    });
    progress.end();
    const exitCode = exitCodeOf(report.verdict);
    await say(options.json ? serialise(formatDocument(report, exitCode)) : renderFormatOutcome(report, look));
    return exitCode;
  } finally {
    progress.end();
    interruption.end();
  }
}

/** FAT32 wherever the panel takes it: both readers, the OS and the boot loader, know it best. */
function usualFileSystem(rules: ModeRules): FormatWish['fileSystem'] {
  const order = ['fat32', 'fat16', 'exfat', 'fat12'] as const;
  return order.find((one) => rules['file-systems'].some((allowed) => allowed === one)) ?? 'fat32';
}

async function rulesFor({ family, for: mode }: FormatOptions): Promise<ModeRules> {
  if (family.length === 0) return customaryRules(mode);
  const { families } = await loadFamiliesFor(family);
  const offering = families.filter((one) => one.modes[mode] !== undefined);
  const [first, ...others] = offering;
  if (first === undefined)
    throw new UsageError(
      `No family there is updated in ${mode} mode.`,
      'Choose the other mode or another family file.',
    );
  if (others.length > 0)
    throw new UsageError(
      `Which family? ${offering.map((one) => one.family).join(', ')} are there.`,
      'Name the one file: --family families/NAME.yaml',
    );
  return first.modes[mode] ?? customaryRules(mode);
}

/** `--size` makes image files and nothing else. */
const findFor =
  ({ size }: FormatOptions): typeof findMedium =>
  async (target, options) => {
    const medium = await findMedium(target, options);
    const wanted = size === undefined ? undefined : parseSize('--size', size);
    if (wanted === undefined || medium.kind === 'new-image' || wanted === medium.bytes) return medium;
    throw new UsageError(
      medium.kind === 'image'
        ? `${target} is there already and has ${medium.bytes} bytes.`
        : '--size makes new image files; a stick has its own size.',
      'Leave --size away, or name a file that does not exist yet.',
    );
  };

/** A drive's size must be typed; an image file needs a yes. */
async function agree({ medium }: FormatProposal, { driveSize, yes, json }: FormatOptions): Promise<boolean> {
  if (medium.kind !== 'device') {
    if (yes || (medium.kind === 'new-image' && !json)) return true;
    if (json || !isInteractive())
      throw new UsageError('Nobody is here to agree that the image is erased.', 'Run it again with --yes.');
    const { confirm } = await import('@inquirer/prompts');
    return await confirm({ message: `Erase ${medium.target}?`, default: false }, { output: process.stderr }).catch(
      () => false,
    );
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
  const message = `Everything on ${medium.target} will be lost. Type the drive's size to erase it (nothing to stop):`;
  const typed = await input({ message }, { output: process.stderr }).catch(() => '');
  return typed.trim() !== '' && isTypedSize(typed, medium.bytes);
}
