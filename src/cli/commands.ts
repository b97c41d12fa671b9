import { Command } from '@commander-js/extra-typings';
import { type AnyCommand, addWords } from './frame/command.ts';
import { addExamples, exitCodesHelp, toolVersion } from './words.ts';

type Load = () => Promise<AnyCommand>;

interface Group {
  /** The one of its commands that is meant where none is named; without it the help is shown. */
  readonly otherwise?: string;
  readonly description: string;
  readonly examples: readonly string[];
}

const shelf: Group = {
  description:
    "The desk's store of packages. Each is inspected when it is added; several desks may share one shelf in a shared folder.",
  examples: [
    'stickwright shelf add reed.1717_5B_second_K2.zip --from https://support.example/sedge/',
    'stickwright shelf find --label "K2-second 75/5B" --running reed.746',
    'stickwright shelf check',
  ],
};

const round: Group = {
  description:
    'From a room list: what each room needs, the fewest sticks for it, cards and tags to print, and the record of what was done.',
  examples: [
    'stickwright round plan rooms.csv --mode in-os --sticks 4',
    'stickwright round prepare',
    'stickwright round cards --pdf',
    'stickwright round pocket --for Ada',
    'stickwright round record "Room 2.14" --build reed.1717',
    'stickwright round status',
  ],
};

const family: Group = {
  description: 'A family file says how the labels, package names and builds of one kind of panel are written.',
  examples: ['stickwright family new', 'stickwright family check families/', 'stickwright family show sedge'],
};

const settings: Group = {
  description:
    'What this desk says once instead of with every command. None makes READY of what would be unproven without it.',
  otherwise: 'show',
  examples: ['stickwright settings', 'stickwright settings set families ~/families', 'stickwright settings unset who'],
};

const seal: Group = {
  description:
    'With a key, every stick prepared here carries a seal; verify --seal-from takes only those. Without one anybody can write a manifest.',
  examples: ['stickwright seal new', 'stickwright verify /media/stick --seal-from desk.pub'],
};

/**
 * Every command, in the order of the help: its name (a second word is one of a group), what it is for, and where it is.
 * What it takes is loaded when it is named: the help of all needs none of it.
 */
export const commands: readonly (readonly [name: string, summary: string, what: Load | Group])[] = [
  ['next', 'say what there is, and what is probably next', async () => (await import('./look/next.ts')).next],
  [
    'inspect',
    'say all that can be said about a firmware archive',
    async () => (await import('./look/inspect.ts')).inspect,
  ],
  ['guide', 'lead through one stick, from label to tag', async () => (await import('./stick/guide.ts')).guide],
  ['desk', 'open the desk in a window of the browser', async () => (await import('./set-up/desk.ts')).desk],
  ['label', 'read a label', async () => (await import('./look/label.ts')).label],
  ['prepare', 'lay out a stick for one kind of panel', async () => (await import('./stick/prepare.ts')).prepare],
  ['verify', 'check a prepared stick before the walk', async () => (await import('./stick/verify.ts')).verify],
  ['shelf', "keep packages, and find the one for a panel's label", shelf],
  ['shelf add', 'inspect packages and keep them', async () => (await import('./shelf/add.ts')).shelfAdd],
  ['shelf list', 'list the packages', async () => (await import('./shelf/look.ts')).shelfList],
  [
    'shelf find',
    'find the newest package for exactly this label',
    async () => (await import('./shelf/look.ts')).shelfFind,
  ],
  ['shelf check', 'read all packages again and find rot', async () => (await import('./shelf/look.ts')).shelfCheck],
  ['shelf remove', 'take packages off the shelf', async () => (await import('./shelf/take.ts')).shelfRemove],
  [
    'shelf export',
    'copy packages out under their own names',
    async () => (await import('./shelf/take.ts')).shelfExport,
  ],
  [
    'compare',
    'say whether a package is newer than what a panel runs',
    async () => (await import('./look/compare.ts')).compare,
  ],
  ['round', 'plan a round through many rooms, and keep what was done', round],
  [
    'round plan',
    'say what each room needs, and in which order the sticks go round',
    async () => (await import('./round/plan.ts')).roundPlan,
  ],
  [
    'round prepare',
    'prepare stick after stick from the kept plan',
    async () => (await import('./round/prepare.ts')).roundPrepare,
  ],
  [
    'round cards',
    'print room cards, tags for the sticks, and a cover sheet',
    async () => (await import('./round/cards.ts')).roundCards,
  ],
  ['round pocket', 'write a file for a phone', async () => (await import('./round/pocket.ts')).roundPocket],
  ['round record', 'note what was done in a room', async () => (await import('./round/record.ts')).roundRecord],
  [
    'round merge',
    'take in the records of other technicians',
    async () => (await import('./round/records.ts')).roundMerge,
  ],
  [
    'round status',
    'say what is done, open, failed and wiped',
    async () => (await import('./round/records.ts')).roundStatus,
  ],
  [
    'round ladder',
    'say the next step for a room that failed',
    async () => (await import('./round/records.ts')).roundLadder,
  ],
  [
    'round export',
    'give the room list back with what was done, and a report to print',
    async () => (await import('./round/records.ts')).roundExport,
  ],
  ['family', 'make, check and look at panel families', family],
  ['family new', 'make a family file from examples', async () => (await import('./set-up/family-new.ts')).familyNew],
  [
    'family check',
    'check family files, each and all together',
    async () => (await import('./set-up/family.ts')).familyCheck,
  ],
  ['family list', 'list the families', async () => (await import('./set-up/family.ts')).familyList],
  ['family show', 'show one family', async () => (await import('./set-up/family.ts')).familyShow],
  [
    'family add',
    "take in a colleague's family file",
    async () => (await import('./set-up/family-change.ts')).familyAdd,
  ],
  [
    'family widen',
    'take a number of digits that a file did not take',
    async () => (await import('./set-up/family-change.ts')).familyWiden,
  ],
  [
    'family from',
    'propose families from the names of packages',
    async () => (await import('./set-up/family-change.ts')).familyFrom,
  ],
  [
    'family confirm',
    'note what confirms a family that was made at a desk',
    async () => (await import('./set-up/family-change.ts')).familyConfirm,
  ],
  ['seal', 'let sticks prove that this desk prepared them', seal],
  ['seal new', "make the desk's key", async () => (await import('./set-up/seal.ts')).sealNew],
  ['seal show', 'say which key this desk has', async () => (await import('./set-up/seal.ts')).sealShow],
  [
    'format',
    'erase a stick or an image and make it right for a panel',
    async () => (await import('./stick/format.ts')).format,
  ],
  ['prove', 'say whether a stick holds what it says', async () => (await import('./stick/prove.ts')).prove],
  ['drives', 'list the sticks that are plugged in', async () => (await import('./look/drives.ts')).drives],
  ['settings', 'show and change what this desk says once', settings],
  ['settings show', 'show them all', async () => (await import('./set-up/settings.ts')).settingsShow],
  ['settings set', 'set one', async () => (await import('./set-up/settings.ts')).settingsSet],
  ['settings unset', 'take one back', async () => (await import('./set-up/settings.ts')).settingsUnset],
  [
    'check-desk',
    'say what this machine lacks, and what to do',
    async () => (await import('./look/check-desk.ts')).checkDesk,
  ],
  [
    'complete',
    'let a shell complete the words of this command',
    async () => (await import('./look/complete.ts')).completeOf(makeEverything),
  ],
  ['man', 'print the manual page', async () => (await import('./look/man.ts')).manOf(makeEverything)],
  ['explain', 'say what a code means', async () => (await import('./look/explain.ts')).explain],
];

const helpOfAll = `
Every command takes -h, -q (--quiet), -v (--verbose),
--color auto|always|never, --debug.
-- ends the options; - is standard input where a file is read.
`;

/** Where nobody sits at a terminal: what a person would look for first. */
export const shortHelp = `stickwright ${toolVersion}: USB sticks that update wall-mounted interactive panels

  stickwright guide             one stick, step by step
  stickwright prepare ...       one stick, all said in one command
  stickwright verify STICK      is this stick still right?
  stickwright round plan LIST   many rooms
  stickwright next              what there is, and what is probably next
  stickwright --help            all commands
`;

const makeEverything = (): Promise<Command> =>
  makeProgram(
    commands.flatMap(([name]) => name.split(' ')),
    async () => {},
  );

/** The command line, with what those take that WORDS name. RUN hears what was read for one of them. */
export async function makeProgram(
  words: readonly string[],
  run: (command: AnyCommand, handed: readonly unknown[]) => Promise<void>,
): Promise<Command> {
  const program = new Command('stickwright')
    .description('Prepares USB sticks that update wall-mounted interactive panels, and verifies them before the walk.')
    .version(toolVersion, '-V, --version')
    .configureHelp({ subcommandTerm: (command) => command.name() }) as unknown as Command;
  addExamples(
    program,
    [
      'stickwright guide',
      'stickwright inspect reed.1717_5B_second_K2.zip --label "K2-second 75/5B"',
      'stickwright prepare reed.1717_5B_second_K2.zip --mode recovery --label "K2-second 75/5B" --stick /media/stick --dry-run',
      'stickwright verify /media/stick --label "K2-second 75/5B"',
    ],
    `${helpOfAll}${exitCodesHelp}`,
  );
  const desks = new Map<string, Command>([['', program]]);
  const defaults = new Set<string>();
  for (const [name, summary, what] of commands) {
    const [last = '', group = ''] = name.split(' ').reverse();
    const desk = desks.get(group);
    if (desk === undefined) continue; // of a group that is not named
    const isDefault = defaults.has(name);
    const it = desk.command(last, { isDefault }) as unknown as Command;
    it.summary(summary);
    if (!words.includes(last) && !isDefault) continue;
    if (typeof what === 'function') {
      const command = await what();
      addWords(it, command, (handed) => run(command, handed));
    } else {
      desks.set(name, it);
      if (what.otherwise !== undefined) defaults.add(`${name} ${what.otherwise}`);
      it.description(what.description);
      addExamples(it, what.examples, exitCodesHelp);
    }
  }
  return program;
}
