import { define, type NoFacts } from '../define.ts';
import { countInWords, listInWords } from '../words.ts';

const practice = 'common practice, no source';
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
export const shelfAnswerFindings = {
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

  'shelf/bridge-not-there': define<{ build: string; steps: readonly Step[]; running: string }>({
    severity: 'stop',
    title: 'the build that must come first is not on the shelf',
    seen: ({ build, steps, running }, subject) =>
      `From ${running} to ${subject} it takes ${steps.length} steps: ${stepsInWords(steps)}. The shelf has no package of build ${build} for this label.`,
    why: skipped,
    todo: ({ build }) =>
      `Download the package of build ${build} from the maker's page and add it: stickwright shelf add.`,
    source: practice,
  }),

  'shelf/running-unknown': define<{ bridges: readonly Step[] }>({
    severity: 'caution',
    title: 'what runs on the panel was not said',
    seen: ({ bridges }) =>
      `Without --running nobody can tell whether this is newer than what the panel runs, or whether a bridge build is due: ${stepsInWords(bridges)}.`,
    why: skipped,
    todo: "Read the build string on the panel's About page and give it with --running.",
    source: practice,
  }),

  'shelf/running-not-said': define<NoFacts>({
    severity: 'note',
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
