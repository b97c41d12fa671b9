import { randomUUID } from 'node:crypto';
import { Option } from '@commander-js/extra-typings';
import { leftoverPolicies } from '../../core/model/mode.ts';
import type { Round } from '../../core/model/round.ts';
import { familiesFor, portsOfDesk, roundFolderFor, shelfFor, signersFor, whoIs } from '../desk.ts';
import { expectAgreement, isAskable } from '../frame/agree.ts';
import { command } from '../frame/command.ts';
import { exitCodeOfSticks, UsageError } from '../frame/exit-codes.ts';
import { note } from '../frame/screen.ts';
import { accept, because, collect, family, json, oneOf, round, shelf, signer } from '../words.ts';

export const roundPrepare = command({
  words: (it) =>
    it
      .description(
        'Says which stick comes next and what to write on its tag, prepares it with every check, and records it. Goes on where it stopped.',
      )
      .addOption(
        new Option('-s, --stick <target>', 'folder, drive letter, image file or device; several are taken in turn')
          .argParser(collect)
          .default([] as readonly string[], 'wait for each to be plugged in'),
      )
      .addOption(
        new Option('--load <letter>', 'only this load; may be given several times')
          .argParser(collect)
          .default([] as readonly string[], 'all'),
      )
      .addOption(
        new Option('--leftovers <what>', 'what to do with things on a stick that would confuse a panel')
          .choices(leftoverPolicies)
          .argParser(oneOf(leftoverPolicies))
          .default('stop' as const),
      )
      .addOption(shelf())
      .addOption(family())
      .addOption(signer())
      .addOption(round())
      .option('--who <name>', 'who is at this desk (default: STICKWRIGHT_WHO, or your login)')
      .option('-n, --dry-run', 'say what would be prepared; write nothing')
      .option('-y, --yes', 'agree in advance, also to a target that is not a removable drive')
      .addOption(accept())
      .addOption(because('manifest'))
      .addOption(json()),
  examples: [
    'stickwright round prepare',
    'stickwright round prepare --stick E: --load B',
    'stickwright round prepare --stick one.img --stick two.img --yes',
  ],
  run: async (options, frame) => {
    const { acceptedReasons } = await import('../read-words.ts');
    const { listDrives } = await import('../../io/drives/list-drives.ts');
    const { noPlan } = await import('../../io/rounds/rounds.ts');
    const { prepareRound } = await import('../../workflows/round-prepare.ts');
    const { chooseTargets } = await import('../stick/targets.ts');
    const { conversation } = await import('./conversation.ts');
    const accepted = acceptedReasons(options);
    const { stick, dryRun, yes } = options;
    if (!dryRun && stick.length === 0 && !isAskable(frame)) {
      throw new UsageError(
        'Nobody is here to plug sticks in: this is not a terminal, or --json was given.',
        'Name the sticks with --stick, several in their order, and agree with --yes.',
      );
    }
    const todo = 'Look at the plan with --dry-run, then run it again with --yes.';
    expectAgreement(frame, dryRun === true || yes === true, todo);
    const folder = await roundFolderFor(options);
    const plan = await folder.plan();
    if (plan === undefined) throw noPlan(folder.place);
    const known = await familiesFor(options.family.length > 0 ? options.family : plan.families);
    const { shelf: place } = await shelfFor(options.shelf ?? plan.shelf);
    const request = {
      round: plan,
      loads: lettersOf(options.load, plan),
      who: whoIs(options.who),
      ...known,
      trusted: await signersFor(options.signer),
      leftovers: options.leftovers,
      dryRun: dryRun === true,
      agreed: yes === true,
      accepted,
    };
    const inUse = [options.shelf, options.round].flatMap((path) => path ?? []);
    const ports = { ...(await portsOfDesk()), folder, shelf: place, newId: randomUUID };
    const running = frame.atWork();
    const targets = await chooseTargets(stick, note, () => listDrives(inUse));
    const said = conversation({ targets, families: known.families, dryRun, yes }, frame, running.signal);
    return await prepareRound(request, ports, { ...running, ...said });
  },
  exitCode: exitCodeOfSticks,
  text: async (report, look) =>
    (await import('../../render/text/render-round-prepare.ts')).renderRoundPrepare(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundPrepareDocument(report, exitCode),
  faults: ({ sticks }) => sticks.map(({ error }) => error),
});

function lettersOf(words: readonly string[], { loads }: Round): readonly string[] {
  const letters = words.map((word) => word.trim().toUpperCase());
  const unknown = letters.find((letter) => !loads.some(({ id }) => id === letter));
  if (unknown === undefined) return letters;
  const has = loads.map(({ id }) => id).join(', ') || 'none';
  throw new UsageError(`The round has no load ${unknown}.`, `Its loads are: ${has}.`);
}
