import { define } from '../../model/catalogue-entry.ts';
import type { Mode } from '../../model/mode.ts';

interface Builds {
  /** On the panel. */
  readonly running: string;
  /** In the package. */
  readonly packaged: string;
}

/** What a family says of older builds, mode by mode; nothing of the modes of which it does not speak. */
export interface OlderBuilds {
  readonly older: readonly { readonly mode: Mode; readonly takes: boolean }[];
}

/** ` As the family file says, its panels refuse an older build in in-os mode.` */
export const olderInWords = ({ older }: OlderBuilds): string =>
  older
    .map(
      ({ mode, takes }) =>
        ` As the family file says, its panels ${takes ? 'take' : 'refuse'} an older build in ${mode} mode.`,
    )
    .join('');

const practice = 'common practice, no source';
const sideBySide = ({ running, packaged }: Builds): string => `\n  running  ${running}\n  package  ${packaged}`;

/** Findings of the area `build/`: what runs on the panel beside what the package brings. */
export const buildFindings = {
  'build/newer': define<Builds>({
    severity: 'note',
    title: 'the package is newer, and one step away',
    seen: (facts) => `The package is newer than what runs on the panel.${sideBySide(facts)}`,
    why: 'No bridge build of the family file lies between.',
    todo: 'Look in the release note for the oldest build that may be updated directly; it has the last word.',
    source: practice,
  }),

  'build/same': define<Builds>({
    severity: 'note',
    title: 'the panel already runs this build',
    seen: (facts) => `The package is the same build as the one that runs.${sideBySide(facts)}`,
    why: 'The panel will say that it is up to date, or install the same again.',
    todo: 'There may be nothing to do. If the panel is at fault, the maker may still ask for a recovery with this build.',
    source: practice,
  }),

  'build/older': define<Builds & OlderBuilds>({
    severity: 'stop',
    title: 'the package is older than what runs',
    seen: (facts) => `The package is older than what runs on the panel.${olderInWords(facts)}${sideBySide(facts)}`,
    why: 'Most panels refuse an older build; some that take it lose their data or cannot read what the newer build left behind.',
    todo: "Get a newer package. If the maker's document asks for this older one, go on with --accept build/older --because and its words.",
    source:
      'AOSP recovery refuses a package whose post-timestamp is older than the running build unless it is marked a downgrade',
  }),

  'build/bridge-needed': define<
    Builds & { steps: readonly { readonly build: string; readonly because: string | undefined }[] }
  >({
    severity: 'stop',
    title: 'a build in between must not be skipped',
    seen: ({ steps, ...facts }) =>
      `The way takes ${steps.length} steps, one stick a step: ${steps.map(({ build, because }, index) => `${index + 1}. ${build}${because === undefined ? '' : ` (${because})`}`).join(', ')}.${sideBySide(facts)}`,
    why: 'A panel that skips a bridge build starts but only half works, or does not start.',
    todo: ({ steps }) =>
      `Prepare a stick with ${steps[0]?.build ?? 'the first build'} first, and check the build string at the panel after each step.`,
    source: practice,
  }),

  'build/bridge-unclear': define<{ running: string; bridge: string }>({
    severity: 'unproven',
    title: 'cannot tell whether a bridge build is due',
    seen: ({ running, bridge }, subject) =>
      `The bridge build ${bridge} cannot be ordered against the running build ${running} or the package's ${subject}.`,
    why: 'A panel that skips a bridge build starts but only half works, or does not start.',
    todo: 'Look in the release note for the oldest build that may be updated directly.',
    source: practice,
  }),

  'build/cannot-order': define<Builds>({
    severity: 'unproven',
    title: 'cannot tell which build is newer',
    seen: (facts) => `Neither is clearly newer.${sideBySide(facts)}`,
    why: 'A panel may refuse an older build, and some lose their data with it.',
    todo: "Compare the release dates on the maker's support page.",
    source: practice,
  }),

  'build/parts-disagree': define<Builds & { byVersion: string; byDate: string }>({
    severity: 'unproven',
    title: 'version and date contradict each other',
    seen: ({ byVersion, byDate, ...facts }) =>
      `By its version the package is ${byVersion}, by its date it is ${byDate}.${sideBySide(facts)}`,
    why: 'One of the two strings is wrong, or the maker rebuilt an older version later; which is newer for the panel cannot be told.',
    todo: "Read the build string on the panel's About page again, and look up both on the maker's support page.",
    source: practice,
  }),

  'build/ambiguous-date': define<{ readings: readonly string[] }>({
    severity: 'unproven',
    title: 'six digits that may be several dates',
    seen: ({ readings }, subject) => `${subject} may mean ${readings.join(' or ')}.`,
    why: 'Read the wrong way round, an older build looks newer.',
    todo: 'Find out from the release note how the maker writes dates, and say it in the family file: build: { scheme: …, six-digits: YYMMDD }.',
    source: practice,
  }),

  'build/unreadable': define<{ which: 'running' | 'packaged'; because: string; scheme: string }>({
    severity: 'unproven',
    title: 'a build string that does not follow the scheme',
    seen: ({ which, because, scheme }, subject) =>
      `${which === 'running' ? 'The running build' : "The package's build"} "${subject}" does not read as ${scheme}: ${because}.`,
    why: 'Without it nobody can tell whether the package is newer than what runs.',
    todo: "Copy the build string from the panel's About page exactly, or correct the scheme in the family file.",
    source: practice,
  }),
};
