import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import { countInWords, listInWords, sizeInWords } from '../../text/words.ts';
import { provenanceFindings } from './provenance.ts';

const practice = 'common practice, no source';
const downloadAgain =
  "Remove it (stickwright shelf remove), download it again from the maker's page and add it; adding the same file again also repairs it.";
const rotHarms = 'A damaged package is refused by the panel, or stops in the middle of an update.';

/** Findings about what lies on the shelf: rot, twins, strangers, what is unfinished. */
const shelfStateFindings = {
  'shelf/sound': define<{ packages: number; bytes: number }>({
    severity: 'note',
    title: 'read again and as recorded',
    seen: ({ packages, bytes }) =>
      `${countInWords(packages, 'package is', 'packages are')} byte for byte as recorded: ${sizeInWords(bytes)} read.`,
    why: 'What was inspected when it was added still lies there.',
    todo: 'Nothing.',
    source: 'SHA-256, FIPS 180-4',
  }),

  'shelf/content-changed': define<{ expected: string; got: string; bytes: number; gotBytes: number }>({
    severity: 'stop',
    title: 'a package is no longer what it was',
    seen: ({ expected, got, bytes, gotBytes }, subject) =>
      bytes === gotBytes
        ? `${subject} has its old size, but other bytes.\n  recorded  ${expected}\n  now       ${got}`
        : `${subject} has ${sizeInWords(gotBytes)} instead of ${sizeInWords(bytes)}.`,
    why: `The storage lost bits, or somebody changed the file by hand. ${rotHarms}`,
    todo: downloadAgain,
    noOverride: true,
    source: 'SHA-256, FIPS 180-4',
  }),

  'shelf/content-missing': define<{ id: string }>({
    severity: 'stop',
    title: 'a package is gone, its record is there',
    seen: ({ id }, subject) => `The folder ${id} has the record of ${subject}, but not the file.`,
    why: 'Somebody deleted or moved it by hand; a stick cannot be made from it.',
    todo: downloadAgain,
    noOverride: true,
    source: practice,
  }),

  'shelf/content-unreadable': define<{ problem: string }>({
    severity: 'stop',
    title: 'a package cannot be read',
    seen: ({ problem }, subject) => `Reading ${subject} failed: ${problem}`,
    why: `The storage is failing, or the connection to it. ${rotHarms}`,
    todo: `Try again; if it fails again, have the storage examined. ${downloadAgain}`,
    noOverride: true,
    source: practice,
  }),

  'shelf/record-damaged': define<{ problem: string; files: readonly string[] }>({
    severity: 'stop',
    title: 'a record is damaged',
    seen: ({ problem, files }, subject) =>
      `The record of ${files.length === 0 ? 'a package' : listInWords(files)} in ${subject} cannot be used: ${problem}.`,
    why: 'Where the package came from and whether it was sound is no longer known, so no label finds it.',
    todo: ({ files }, subject) =>
      `Download ${files[0] ?? 'the package'} again from the maker's page and add it; then delete the folder ${subject}.`,
    noOverride: true,
    source: practice,
  }),

  'shelf/record-newer': define<{ schema: string }>({
    severity: 'unproven',
    title: 'a record of a later version',
    seen: ({ schema }, subject) =>
      `${subject} has a record in the form ${schema}; this version knows stickwright/shelf-record/1.`,
    why: 'The package may be the one you need, but this version cannot tell.',
    todo: 'Use the version of stickwright that the other desks use.',
    source: practice,
  }),

  'shelf/name-twice': define<{ sha256: readonly string[] }>({
    severity: 'stop',
    title: 'one name, several contents',
    seen: ({ sha256 }, subject) =>
      `The shelf holds ${sha256.length} different files called ${subject}.\n  ${sha256.join('\n  ')}`,
    why: 'Two desks added them at the same moment. Nobody at the panel could tell which one a stick holds.',
    todo: "Compare them with the SHA-256 on the maker's page and remove the others: stickwright shelf remove, with the first digits of the SHA-256.",
    noOverride: true,
    source: practice,
  }),

  'shelf/stranger': define<{ where: string }>({
    severity: 'caution',
    title: 'a file that does not belong here',
    seen: ({ where }, subject) => `${subject} in ${where} was not put there by stickwright.`,
    why: 'No label finds what is copied onto the shelf by hand: it was never inspected.',
    todo: 'If it is a package, add it with stickwright shelf add; then delete it here.',
    source: practice,
  }),

  'shelf/unfinished': define<{ bytes: number; since: string }>({
    severity: 'caution',
    title: 'left by a desk that was cut off',
    seen: ({ bytes, since }, subject) =>
      `${subject} holds ${sizeInWords(bytes)} that were never finished; untouched since ${since}.`,
    why: 'It takes space and nothing else: no desk ever sees it as a package.',
    todo: 'Nothing: the next shelf add clears away what has been untouched for a day.',
    source: practice,
  }),
};

const skipped = 'A panel that skips a bridge build starts but only half works, or does not start.';

export interface Step {
  readonly build: string;
  readonly because: string | undefined;
}

const stepsInWords = (steps: readonly Step[]): string =>
  steps
    .map(({ build, because }, at) => `${at + 1}. ${build}${because === undefined ? '' : ` (${because})`}`)
    .join(', ');

/** Findings about what the shelf has for a label. */
const shelfAnswerFindings = {
  'shelf/newest': define<{ build: string; fitting: number; label: string }>({
    severity: 'note',
    title: 'the newest on the shelf for exactly this label',
    seen: ({ build, fitting, label }, subject) =>
      `${subject}, build ${build}, is ${fitting === 1 ? 'the only package' : `the newest of ${fitting} packages`} on the shelf for "${label}".`,
    why: 'The maker may have published a newer one that nobody has added yet.',
    todo: "Look at the maker's page for a newer one.",
    source: practice,
  }),

  'shelf/none-fits': define<{ label: string; ofFamily: number; total: number; family: string }>({
    severity: 'stop',
    title: 'nothing on the shelf is made for this label',
    seen: ({ label, ofFamily, total, family }) =>
      `Of ${countInWords(total, 'package')} on the shelf, ${ofFamily} are of ${family}, and none is for "${label}".`,
    why: 'A package for another size, series, generation or factory variant is refused at best; at worst the panel does not come up again.',
    todo: "Read the label once more. If it is right, download the package for exactly this label from the maker's page and add it.",
    noOverride: true,
    source: practice,
  }),

  'shelf/newest-unclear': define<{ label: string; names: readonly string[] }>({
    severity: 'unproven',
    title: 'cannot tell which package is the newest',
    seen: ({ label, names }) =>
      `For "${label}" the shelf has ${listInWords(names, 6)}, and none is clearly the newest.`,
    why: 'A panel may refuse an older build, and some lose their data with it.',
    todo: "Compare the release dates on the maker's page, and prepare from the file that you chose: stickwright shelf export.",
    source: practice,
  }),

  'shelf/build-unstated': define<NoFacts>({
    severity: 'unproven',
    title: 'no build in the name',
    seen: (_facts, subject) => `The name ${subject} states no build.`,
    why: 'Without it nobody can tell whether the package is newer than what runs on the panel.',
    todo: "Look up the package's build in its release note, or add the group `build` to the pattern in the family file.",
    source: practice,
  }),

  'shelf/bridge-first': define<{ steps: readonly Step[]; running: string; target: string }>({
    severity: 'caution',
    title: 'a build in between comes first',
    seen: ({ steps, running, target }, subject) =>
      `From ${running} to ${target} it takes ${steps.length} steps, one stick a step: ${stepsInWords(steps)}. ${subject} is the first.`,
    why: skipped,
    todo: 'Prepare one stick for each step, tag them in order, and check the build string at the panel after each step.',
    source: practice,
  }),

  'shelf/bridge-not-there': define<{
    build: string;
    steps: readonly Step[];
    running: string;
    names: readonly string[];
  }>({
    severity: 'stop',
    title: 'the build that must come first cannot be taken from the shelf',
    seen: ({ build, steps, running, names }, subject) =>
      `From ${running} to ${subject} it takes ${steps.length} steps: ${stepsInWords(steps)}. Of build ${build} the shelf has ${names.length === 0 ? 'no package' : listInWords(names, 6)} for this label.`,
    why: skipped,
    todo: ({ build, names }) =>
      names.length === 0
        ? `Download the package of build ${build} from the maker's page and add it: stickwright shelf add.`
        : "Find out from the maker's page which one is right, and take the other away: stickwright shelf remove.",
    source: practice,
  }),

  'shelf/running-unknown': define<{ bridges: readonly Step[] }>({
    severity: 'unproven',
    title: 'what runs on the panel was not said',
    seen: ({ bridges }) =>
      `Without --running nobody can tell whether this is newer than what the panel runs, or whether a bridge build is due: ${stepsInWords(bridges)}.`,
    why: skipped,
    todo: "Read the build string on the panel's About page and give it with --running.",
    source: practice,
  }),

  'shelf/running-not-said': define<NoFacts>({
    severity: 'unproven',
    title: 'what runs on the panel was not said',
    seen: () => 'Without --running nobody can tell whether this is newer than what the panel runs.',
    why: 'A panel may refuse an older build, and some lose their data with it.',
    todo: "Read the build string on the panel's About page and give it with --running.",
    source: practice,
  }),

  'shelf/accepted-when-added': define<{ code: string; because: string; addedAt: string }>({
    severity: 'caution',
    title: 'a stop was accepted when it was added',
    seen: ({ code, because, addedAt }, subject) =>
      `${subject}: ${code} was accepted on ${addedAt}, because: ${because}`,
    why: 'What a person accepted is still so. Preparing a stick will stop there again.',
    todo: "Decide again with today's knowledge: stickwright explain CODE says what it means.",
    source: practice,
  }),

  'shelf/unproven-when-added': define<{ code: string; title: string }>({
    severity: 'unproven',
    title: 'something was unproven when it was added',
    seen: ({ code, title }, subject) => `${subject}: ${title} [${code}].`,
    why: 'Nothing was wrong, but something that matters could not be checked; it still has not been.',
    todo: ({ code }) =>
      `stickwright explain ${code} says what settles it. Then add the same file once more with what was missing (stickwright shelf add FILE, with the maker's checksum file beside it or --expect-sha256), and the shelf's record says so.`,
    source: practice,
  }),

  'compare/no-family': define<{ families: readonly string[] }>({
    severity: 'unproven',
    title: 'cannot tell which build is newer',
    seen: ({ families }, subject) =>
      families.length > 1
        ? `${subject} reads as a package of several families: ${listInWords(families)}.`
        : `No family file reads ${subject}, so nobody says what its build is and how builds are counted.`,
    why: 'Builds are only compared within the scheme of one maker. A panel may refuse an older build, and some lose their data with it.',
    todo: 'Name the family file with --family, or make one with stickwright family new.',
    source: practice,
  }),
};

interface Twin {
  readonly sha256: string;
  readonly other: string;
  readonly addedAt: string;
}

/**
 * Findings of the areas `shelf/` and `provenance/`: the desk's store of packages. Those here are about adding to it.
 */
export const shelfFindings = {
  ...shelfStateFindings,
  ...shelfAnswerFindings,
  ...provenanceFindings,

  'shelf/added': define<{ sha256: string }>({
    severity: 'note',
    title: 'on the shelf',
    seen: ({ sha256 }, subject) => `${subject} is on the shelf, read back and recorded. SHA-256 ${sha256}.`,
    why: 'Every desk that uses this shelf finds it from now on.',
    todo: 'Find it by a label: stickwright shelf find --label TEXT.',
    source: practice,
  }),

  'shelf/proven-now': define<{ addedAt: string; codes: readonly string[] }>({
    severity: 'note',
    title: 'what was unproven is settled',
    seen: ({ addedAt, codes }, subject) =>
      `${subject} lies on the shelf since ${addedAt} with something unproven (${listInWords(codes)}); this time it was proven. Its record says so from now on.`,
    why: 'Sticks that are made from it from now on carry that doubt no more. Those made before still do.',
    todo: 'Prepare sticks that were made from it before once more.',
    source: practice,
  }),

  'shelf/already-there': define<{ addedAt: string }>({
    severity: 'note',
    title: 'already on the shelf',
    seen: ({ addedAt }, subject) =>
      `The same file lies on the shelf as ${subject} since ${addedAt}; nothing was added. The record stays as it is.`,
    why: 'One file is kept once.',
    todo: 'Nothing. To change its address or note, remove it and add it again.',
    source: practice,
  }),

  'shelf/same-content-other-name': define<{ other: string; addedAt: string }>({
    severity: 'caution',
    title: 'already on the shelf under another name',
    seen: ({ other, addedAt }, subject) =>
      `${subject} is byte for byte the file that lies on the shelf as ${other} since ${addedAt}; nothing was added.`,
    why: 'Panels and people go by the name. One of the two names is not the one that the maker gave, often by a second download.',
    todo: ({ other }, subject) =>
      `Compare both names with the maker's page. If ${other} is the wrong one, remove it from the shelf and add ${subject} again.`,
    source: practice,
  }),

  'shelf/restored': define<NoFacts>({
    severity: 'caution',
    title: 'the copy on the shelf was damaged and is replaced',
    seen: (_facts, subject) =>
      `The shelf's copy of ${subject} was missing or no longer as recorded; this file is, and took its place.`,
    why: 'A damaged package is refused by the panel, or stops in the middle of an update.',
    todo: 'Ask whoever looks after the storage to examine it, and run stickwright shelf check on the whole shelf.',
    source: practice,
  }),

  'shelf/name-taken': define<Twin & { atTheSameTime: boolean }>({
    severity: 'stop',
    title: 'the same name with other content',
    seen: ({ sha256, other, addedAt, atTheSameTime }, subject) =>
      `${atTheSameTime ? 'Another desk added' : 'The shelf holds'} ${subject} with other content${atTheSameTime ? ' at the same moment' : ''}; nothing was added.\n  here       ${sha256}\n  on shelf   ${other} (${addedAt})`,
    why: 'Either one of the two is damaged or changed, or the maker published a second package under the old name. Nobody at the panel could tell which one a stick holds.',
    todo: "Compare both SHA-256 with the one on the maker's page. If the one on the shelf is wrong or withdrawn, remove it (stickwright shelf remove), then add this one again.",
    noOverride: true,
    source: practice,
  }),

  'shelf/same-build-other-content': define<{ other: string; build: string }>({
    severity: 'caution',
    title: 'another package of the same build for the same panels',
    seen: ({ other, build }, subject) =>
      `${subject} and ${other} are both build ${build} for the same panels, but differ.`,
    why: 'Which of the two a panel should get cannot be told from their names; shelf find will name both and choose neither.',
    todo: 'Read both release notes, and remove the one that was replaced.',
    source: practice,
  }),

  'shelf/name-unread': define<{ families: readonly string[] }>({
    severity: 'caution',
    title: 'no family file reads this name, so no label will find it',
    seen: ({ families }, subject) =>
      families.length > 1
        ? `${subject} reads as a package of several families: ${listInWords(families)}.`
        : `No family file reads ${subject} as a package.`,
    why: 'shelf find answers only with packages whose name says for which panels they are.',
    todo: 'Check the name against the maker\'s page: "name (1).zip" and the like are a browser\'s. If it is right, add its pattern to the family file.',
    source: practice,
  }),

  'shelf/name-unusable': define<{ problem: string }>({
    severity: 'stop',
    title: 'a name that cannot be kept',
    seen: ({ problem }, subject) => `"${subject}" cannot be the name of a package: ${problem}.`,
    why: 'A package keeps its own name, and neither a stick nor a shared folder can carry this one.',
    todo: "Download it again from the maker's page and keep the name that it has there.",
    noOverride: true,
    source: 'Microsoft, Naming Files, Paths, and Namespaces',
  }),

  'shelf/made': define<NoFacts>({
    severity: 'note',
    title: 'a new shelf',
    seen: (_facts, subject) => `There was no shelf at ${subject}; an empty one was made.`,
    why: 'Packages that another desk keeps lie elsewhere.',
    todo: 'If you meant a shelf that several desks share, check the path and whether the shared folder is connected.',
    source: practice,
  }),

  'shelf/removed': define<{ sha256: string }>({
    severity: 'note',
    title: 'taken off the shelf',
    seen: ({ sha256 }, subject) =>
      `${subject} (SHA-256 ${sha256}) is off the shelf with its record. Nothing else was touched.`,
    why: 'No desk that uses this shelf finds it any more; sticks made from it stay as they are.',
    todo: 'If it was withdrawn by the maker, look for sticks that hold it: stickwright verify names the package of a stick.',
    source: practice,
  }),

  'shelf/exported': define<{ to: string; bytes: number }>({
    severity: 'note',
    title: 'copied out and compared',
    seen: ({ to, bytes }, subject) =>
      `${subject} was copied to ${to} under its own name: ${bytes.toLocaleString('en-US')} bytes, read back and equal to the record.`,
    why: 'The copy is the file that was inspected when it was added.',
    todo: 'Nothing.',
    source: practice,
  }),

  'shelf/export-there': define<{ to: string }>({
    severity: 'note',
    title: 'already there',
    seen: ({ to }, subject) => `${to} is byte for byte ${subject} of the shelf; nothing was copied.`,
    why: 'The file is the one that was inspected when it was added.',
    todo: 'Nothing.',
    source: practice,
  }),

  'shelf/export-name-taken': define<{ to: string }>({
    severity: 'stop',
    title: 'another file has that name there',
    seen: ({ to }, subject) => `${to} exists and is not ${subject} of the shelf; it was left alone.`,
    why: 'Two files of one name and different content is how a wrong package gets onto a stick.',
    todo: 'Move that file away, or name another folder with --to.',
    noOverride: true,
    source: practice,
  }),

  'shelf/not-on-shelf': define<{ names: readonly string[]; count: number }>({
    severity: 'stop',
    title: 'no such package on the shelf',
    seen: ({ names, count }, subject) =>
      `The shelf has no package called "${subject}".${names.length === 0 ? '' : ` Close to it: ${listInWords(names)}.`} It holds ${countInWords(count, 'package')}.`,
    why: 'Nothing was done with it.',
    todo: 'Give the whole file name, or at least the first eight digits of its SHA-256: stickwright shelf list.',
    noOverride: true,
    source: practice,
  }),

  'shelf/several-match': define<{ matches: readonly string[] }>({
    severity: 'stop',
    title: 'several packages are meant',
    seen: ({ matches }, subject) => `"${subject}" stands for ${matches.length} packages: ${listInWords(matches)}.`,
    why: 'Which one is meant is not guessed.',
    todo: 'Give more digits of the SHA-256: stickwright shelf list shows them.',
    noOverride: true,
    source: practice,
  }),
};
