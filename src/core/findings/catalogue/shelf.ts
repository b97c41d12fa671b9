import { define, type NoFacts } from '../define.ts';
import { countInWords, listInWords } from '../words.ts';
import { provenanceFindings } from './provenance.ts';
import { shelfAnswerFindings } from './shelf-answer.ts';
import { shelfStateFindings } from './shelf-state.ts';

const practice = 'common practice, no source';

interface Twin {
  readonly sha256: string;
  readonly other: string;
  readonly addedAt: string;
}

/** Findings of the areas `shelf/` and `provenance/`: the desk's store of packages. Those here are about adding to it. */
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
