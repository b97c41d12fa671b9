import { randomInt } from 'node:crypto';
import { customaryRules, type ModeRules } from '../../core/model/family.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { FormatWish } from '../../core/report/medium-reports.ts';
import { findMedium, listLosses } from '../../io/format/find-medium.ts';
import { formatMedium, planFormat } from '../../io/format/format-medium.ts';
import { serialise } from '../../render/json/serialise.ts';
import { formatDocument } from '../../render/json/stick-documents.ts';
import { renderFormatOutcome, renderFormatPlan, renderMedium } from '../../render/text/render-format.ts';
import { type FormatRequest, formatStick } from '../../workflows/format-stick.ts';
import { agreeToErase } from '../agree-to-erase.ts';
import { exitCodeOf, exitCodes } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { parseSize } from '../parse-size.ts';
import { startProgress } from '../progress.ts';
import { lookOf, say } from '../screen.ts';
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
      agree: ({ medium }) => agreeToErase(medium, options),
    });
    progress.end();
    const exitCode = report.state === 'unfinished' ? exitCodes.interrupted : exitCodeOf(report.verdict);
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
  ({ size, family }: FormatOptions): typeof findMedium =>
  async (target, options) => {
    const medium = await findMedium(target, { ...options, inUse: family });
    const wanted = size === undefined ? undefined : parseSize('--size', size);
    if (wanted === undefined || medium.kind === 'new-image' || wanted === medium.bytes) return medium;
    throw new UsageError(
      medium.kind === 'image'
        ? `${target} is there already and has ${medium.bytes} bytes.`
        : '--size makes new image files; a stick has its own size.',
      'Leave --size away, or name a file that does not exist yet.',
    );
  };
