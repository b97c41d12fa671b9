import { existsSync } from 'node:fs';
import { Option } from '@commander-js/extra-typings';
import type { Finding } from '../../core/findings/finding.ts';
import { leftoverPolicies, modes } from '../../core/model/mode.ts';
import type { PrepareReport } from '../../core/report/reports.ts';
import type { PreparedImage } from '../../workflows/prepare-image.ts';
import type { PrepareRequest, PrepareRunning } from '../../workflows/prepare-sticks.ts';
import { familiesFor, portsOfDesk, signersFor } from '../desk.ts';
import { confirmed, expectAgreement, labelAsMeant } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { exitCodeOf, exitCodeOfSticks, UsageError } from '../frame/exit-codes.ts';
import { note } from '../frame/screen.ts';
import { accept, because, collect, expected, expectedBytes, family, json, oneOf, shelf, signer } from '../words.ts';

/** Most plan items that are shown before a question; a dry run shows all. */
const mostItems = 40;

export const prepare = command({
  words: (it) =>
    it
      .description(
        'Checks label, archive and stick, shows exactly what would be written, writes it, and reads it back.',
      )
      .argument('[archive]', 'the downloaded firmware archive; or --from-shelf')
      .addOption(
        new Option('-m, --mode <mode>', 'how the panel takes it; recovery WIPES the panel')
          .choices(modes)
          .argParser(oneOf(modes))
          .makeOptionMandatory(),
      )
      .requiredOption('-l, --label <text>', "the label on the panel's back, as it is printed")
      .addOption(
        new Option(
          '-s, --stick <target>',
          'mounted folder, drive letter, image file or device; several are possible; all: every USB stick',
        )
          .argParser(collect)
          .default([] as readonly string[])
          .makeOptionMandatory(),
      )
      .option('--image <file>', 'make an image file of the prepared stick instead')
      .option('--size <size>', 'of the image, such as 16GB; auto: as small as holds it')
      .option('--at <time>', 'the moment that the image tells, such as 2026-09-14T08:00:00Z: same input, same bytes')
      .option('--from-shelf', 'take the newest package for this label from the shelf')
      .option(
        '-r, --running <build>',
        "the build on the panel's About page: says a downgrade or a bridge before it is written",
      )
      .addOption(shelf())
      .addOption(family())
      .addOption(signer())
      .addOption(expected('sha256'))
      .addOption(expected('sha512'))
      .addOption(expected('sha1'))
      .addOption(expected('md5'))
      .addOption(expectedBytes())
      .option('-n, --dry-run', 'stop after the plan; write nothing')
      .option('-y, --yes', 'agree in advance, also to a target that is not a removable drive')
      .addOption(
        new Option('--leftovers <what>', 'what to do with things on the stick that would confuse the panel')
          .choices(leftoverPolicies)
          .argParser(oneOf(leftoverPolicies))
          .default('stop' as const),
      )
      .addOption(accept())
      .addOption(because('manifest'))
      .option('--tag <file>', 'write a tag for each stick to print, as HTML: for a stick outside of a round')
      .option('--eject', 'when it is done, let go of the stick and say when it can be pulled')
      .addOption(json()),
  examples: [
    'stickwright prepare reed.1717_5B_second_K2.zip --mode in-os --label "K2-second 75/5B" --stick E: --dry-run',
    'stickwright prepare reed.1717_5B_second_K2.zip --mode recovery --label "K2-second 75/5B" --stick /media/stick',
    'stickwright prepare --from-shelf --mode in-os --label "K2-second 75/5B" --running reed.746 --stick /media/stick',
  ],
  instead: { archive: '--from-shelf', '--stick': '--image' },
  run: async (named, options, frame) => {
    const { acceptedReasons, readExpectedBytes, readExpectedHashes } = await import('../read-words.ts');
    const accepted = acceptedReasons(options);
    const claims = readExpectedHashes(options);
    const expectBytes = readExpectedBytes(options.expectBytes);
    checkOutput(options);
    checkTag(options.tag);
    const todo = 'Look at the plan with --dry-run, then run it again with --yes.';
    expectAgreement(frame, options.dryRun === true || options.yes === true, todo);
    const known = await familiesFor(options.family);
    const label = await labelAsMeant(options.label, known.families, frame, options.yes);
    const { chooseArchive } = await import('./choose-archive.ts');
    const chosen = await chooseArchive(named, { ...options, label }, { families: known.families, accepted });
    if ('answer' in chosen) return chosen;
    const request: PrepareRequest = {
      ...chosen,
      claims: [...claims, ...chosen.claims],
      expectBytes,
      ...known,
      trusted: await signersFor(options.signer),
      mode: options.mode,
      label,
      targets: options.image === undefined ? await targetsOf(chosen.archivePath, options) : [],
      leftovers: options.leftovers,
      dryRun: options.dryRun === true,
      agreed: options.yes === true,
      accepted,
    };
    const { plannedOf } = await import('../../core/report/name-targets.ts');
    const { renderProposal } = await import('../../render/text/render-report.ts');
    const shown = new Set<Finding>();
    let wipes = false;
    const { report, sha256 } = await prepareOutput(request, options, {
      ...frame.atWork(),
      propose: async (job, findings, sticks) => {
        wipes = !job.rules['keeps-data'];
        for (const found of [...findings, ...sticks.flatMap((stick) => stick.findings)]) shown.add(found);
        const most = request.dryRun ? Number.POSITIVE_INFINITY : mostItems;
        await frame.show(`${renderProposal(job, findings, sticks, frame.look, most)}\n`);
      },
      agree: (sticks) =>
        confirmed(
          `Write as shown: ${plannedOf(sticks)}, for ${request.mode}${wipes ? ', which WIPES THE PANEL' : ''}?`,
        ),
    });
    const image = options.image === undefined ? undefined : { path: options.image, sha256: sha256 ?? null };
    const tag = options.tag === undefined ? undefined : await writeTag(options.tag, report);
    return { ...report, shown, image, tag, ejects: options.eject ? request.targets : [] };
  },
  exitCode: (report) => ('answer' in report ? exitCodeOf(report.verdict) : exitCodeOfSticks(report)),
  text: async (report, look) => {
    if ('answer' in report)
      return (await import('../../render/text/render-shelf-find.ts')).renderShelfFind(report, look);
    const { renderOutcome } = await import('../../render/text/render-report.ts');
    const { tame } = await import('../../render/text/page.ts');
    const { image, shown, tag } = report;
    const printed = tag === undefined ? '' : `\nTag        ${tame(tag)}  (open it in a browser and print it)\n`;
    const made =
      image === undefined || image.sha256 === null ? '' : `\nImage      ${image.path}\nSHA-256    ${image.sha256}\n`;
    return `${renderOutcome(report, shown, look)}${made}${printed}`;
  },
  json: async (report, exitCode) => {
    if ('answer' in report)
      return (await import('../../render/json/shelf-to-json.ts')).shelfFindDocument(report, exitCode);
    const { prepareDocument } = await import('../../render/json/to-json.ts');
    const { image, tag } = report;
    return {
      ...prepareDocument(report, exitCode),
      ...(image === undefined ? {} : { image }),
      ...(tag === undefined ? {} : { tag }),
    };
  },
  faults: (report) => ('answer' in report ? [] : report.sticks.map(({ error }) => error)),
  afterwards: async (report) =>
    'answer' in report ? undefined : await (await import('./targets.ts')).ejectTargets(report.ejects),
});

/** Before any work: a tag that could not be written would be missed when the stick is done. */
function checkTag(path: string | undefined): void {
  if (path === undefined || !existsSync(path)) return;
  throw new UsageError(`${path} is there already.`, 'Name a file for the tag that is not there yet, such as tag.html.');
}

/** The tags of the sticks that carry their record now; nothing where none does. */
async function writeTag(path: string, { sticks }: PrepareReport): Promise<string | undefined> {
  const done = sticks.filter(({ state }) => state === 'written' || state === 'unchanged');
  const manifests = done.flatMap(({ manifest }) => (manifest === undefined ? [] : [manifest]));
  if (manifests.length === 0) return undefined;
  const { renderSingleTags } = await import('../../render/html/render-tags.ts');
  const { writeExport } = await import('../../io/rounds/write-export.ts');
  await writeExport(path, new TextEncoder().encode(renderSingleTags(manifests)), false);
  return path;
}

interface Output {
  readonly stick: readonly string[];
  readonly image?: string | undefined;
  readonly size?: string | undefined;
  readonly at?: string | undefined;
}

/** Sticks or an image, and what belongs to which. */
function checkOutput({ stick, image, size, at }: Output): void {
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

interface Named {
  readonly stick: readonly string[];
  readonly family: readonly string[];
  readonly shelf?: string | undefined;
}

/** A stick that carries what this run reads is none of `all`. */
async function targetsOf(archivePath: string, { stick, family: named, shelf: place }: Named) {
  const { chooseTargets } = await import('./targets.ts');
  const { listDrives } = await import('../../io/drives/list-drives.ts');
  const needed = [archivePath, ...named, ...(place === undefined ? [] : [place])];
  return await chooseTargets(stick, note, () => listDrives(needed));
}

/** `--at` as RFC 3339; FAT knows no time before 1980 and none after 2107. */
function readMoment(text: string): string {
  const date = new Date(/^\d{4}-\d{2}-\d{2}T[\d:.]+(Z|[+-]\d{2}:\d{2})$/.test(text) ? text : Number.NaN);
  const year = date.getUTCFullYear();
  if (year >= 1980 && year <= 2107) return date.toISOString();
  throw new UsageError(`--at ${text} is no moment that FAT can hold.`, 'Write it like `2026-09-14T08:00:00Z`.');
}

async function prepareOutput(
  request: PrepareRequest,
  { image, size, at }: Output,
  running: PrepareRunning,
): Promise<PreparedImage> {
  const ports = await portsOfDesk();
  if (image === undefined) {
    const { prepareSticks } = await import('../../workflows/prepare-sticks.ts');
    return { report: await prepareSticks(request, ports, running), sha256: undefined };
  }
  const { parseSize } = await import('../read-words.ts');
  const { prepareImage } = await import('../../workflows/prepare-image.ts');
  const { discardImage, finishImage, startImage } = await import('../../io/format/image-files.ts');
  const imageBytes = size === undefined || size === 'auto' ? undefined : parseSize('--size', size);
  const moment = at === undefined ? ports.now() : readMoment(at);
  const imagePorts = { ...ports, now: () => moment, startImage, finishImage, discardImage };
  return await prepareImage({ ...request, imagePath: image, imageBytes }, imagePorts, running);
}
