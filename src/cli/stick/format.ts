import { randomInt } from 'node:crypto';
import { Option } from '@commander-js/extra-typings';
import type { ModeRules } from '../../core/model/family.ts';
import { type Mode, modes } from '../../core/model/mode.ts';
import type { MediumPlace } from '../../core/report/medium-reports.ts';
import { familiesFor, portsOfDesk } from '../desk.ts';
import { agreeToErase } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { exitCodeOf, exitCodes, UsageError } from '../frame/exit-codes.ts';
import { family, json, oneOf, untried } from '../words.ts';

const fileSystems = ['fat32', 'fat16', 'exfat'] as const;

export const format = command({
  words: (it) =>
    it
      .description(
        'Erases a whole removable USB drive or an image file: MBR, one aligned partition, FAT32 of any size. Shows first what would be lost.',
      )
      .argument('<target>', 'removable USB drive as a whole, or an image file')
      .addOption(
        new Option('--for <mode>', 'how the panel will take it')
          .choices(modes)
          .argParser(oneOf(modes))
          .makeOptionMandatory(),
      )
      .addOption(family())
      .option('--size <size>', 'make a new image file of this size, such as 16GB')
      .option('--volume-label <text>', 'name of the volume, at most 11 letters')
      .addOption(
        new Option('--file-system <name>', 'instead of what the panel takes best')
          .choices(fileSystems)
          .argParser(oneOf(fileSystems)),
      )
      .option('--cluster <bytes>', "cluster size instead of the published table's")
      .option('--drive-size <text>', "the drive's size, typed to say that this is the one to erase; for scripts")
      .option('-y, --yes', 'agree in advance that an image file is erased')
      .addOption(untried())
      .option('--eject', 'when it is done, let go of the stick and say when it can be pulled')
      .addOption(json()),
  examples: [
    'stickwright format /dev/sdb --for recovery --family families/sedge.yaml --volume-label PANEL',
    'stickwright format stick.img --for recovery --size 16GB',
  ],
  run: async (target, options, frame) => {
    const { parseSize } = await import('../read-words.ts');
    const { findMedium, listLosses } = await import('../../io/format/find-medium.ts');
    const { formatMedium, planFormat } = await import('../../io/format/format-medium.ts');
    const { renderFormatPlan, renderMedium } = await import('../../render/text/render-format.ts');
    const { formatStick } = await import('../../workflows/format-stick.ts');
    const { usualFileSystem } = await import('../../core/checks/stick/check-format.ts');
    const rules = await rulesFor(options.family, options.for);
    const imageBytes = options.size === undefined ? undefined : parseSize('--size', options.size);
    const request = {
      target,
      mode: options.for,
      rules,
      imageBytes,
      wish: {
        fileSystem: options.fileSystem ?? usualFileSystem(rules),
        clusterBytes: options.cluster === undefined ? undefined : parseSize('--cluster', options.cluster),
        volumeLabel: options.volumeLabel,
        volumeSerial: randomInt(2 ** 32),
        at: (await portsOfDesk()).now(),
      },
    };
    const find: typeof findMedium = async (named, how) => {
      const medium = await findMedium(named, { ...how, inUse: options.family });
      checkImageSize(medium, imageBytes);
      return medium;
    };
    const report = await formatStick(
      request,
      { findMedium: find, listLosses, planFormat, formatMedium },
      {
        ...frame.atWork(),
        propose: ({ medium, losses, plan }) =>
          frame.show(`${renderMedium(medium, losses, frame.look)}${renderFormatPlan(plan, frame.look)}\n`),
        agree: ({ medium }) => agreeToErase(medium, options, frame),
      },
    );
    return { ...report, ejects: options.eject ? [target] : [] };
  },
  exitCode: ({ state, verdict }) => (state === 'unfinished' ? exitCodes.interrupted : exitCodeOf(verdict)),
  text: async (report, look) => (await import('../../render/text/render-format.ts')).renderFormatOutcome(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/stick-documents.ts')).formatDocument(report, exitCode),
  afterwards: async ({ ejects }) => await (await import('./targets.ts')).ejectTargets(ejects),
});

async function rulesFor(named: readonly string[], mode: Mode): Promise<ModeRules> {
  const { customaryRules } = await import('../../core/model/customary-rules.ts');
  if (named.length === 0) return customaryRules(mode);
  const { families } = await familiesFor(named);
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
function checkImageSize({ kind, bytes, target }: MediumPlace, wanted: number | undefined): void {
  if (wanted === undefined || kind === 'new-image' || wanted === bytes) return;
  throw new UsageError(
    kind === 'image'
      ? `${target} is there already and has ${bytes} bytes.`
      : '--size makes new image files; a stick has its own size.',
    'Leave --size away, or name a file that does not exist yet.',
  );
}
