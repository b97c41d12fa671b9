import { define } from '../define.ts';
import { countInWords, listInWords, sizeInWords } from '../words.ts';
import { recordAnswerFindings } from './record-answer.ts';
import { recordListFindings } from './record-list.ts';

const practice = 'common practice, no source';

/** Findings about what was done in a round: one record, a filled-in list, the round as a whole. */
export const recordFindings = {
  ...recordAnswerFindings,
  ...recordListFindings,

  'record/disagreement': define<{
    first: { who: string; at: string; said: string };
    second: { who: string; at: string; said: string };
  }>({
    severity: 'unproven',
    title: 'two people disagree about a room',
    seen: ({ first, second }, subject) =>
      `${subject}: ${first.who} says ${first.said} (${first.at}); ${second.who} says ${second.said} (${second.at}).`,
    why: 'There is less time between the two than one update takes, so one of them is about another panel, or wrong. Until that is known nobody can say what this panel runs.',
    todo: 'Ask both, or read the About page once more; then withdraw the wrong line (stickwright round record --withdraw ID --because "…") or record the room anew.',
    source: practice,
  }),

  'record/stick-unproven': define<{ load: string; codes: readonly string[] }>({
    severity: 'unproven',
    title: 'a prepared stick of which something was not proven',
    seen: ({ load, codes }, subject) => `Stick ${subject}, load ${load}: ${codes.join(', ')}.`,
    why: 'Nothing was wrong when it was prepared, but something that matters at the panel could not be checked.',
    todo: ({ load }, subject) =>
      `stickwright explain with the code says what settles it; then prepare ${subject} once more: stickwright round prepare --load ${load}.`,
    source: practice,
  }),

  'record/unclear-room': define<{ build: string | null; target: string | null; who: string }>({
    severity: 'unproven',
    title: 'a room that is said to be done, without proof',
    seen: ({ build, target, who }, subject) =>
      build === null
        ? `${subject} is done, says ${who}, but nobody noted the build on its About page.`
        : `${subject} is done, says ${who}, but shows ${build}${target === null ? '; the plan has no target for it' : ` instead of ${target}`}.`,
    why: 'Only the build on the About page tells that an update took; an old build that was written again looks fine, too.',
    todo: ({ target }, subject) =>
      `Read the About page of ${subject} and record what it shows${target === null ? '' : ` (${target} is expected)`}: stickwright round record with --build.`,
    source: practice,
  }),

  'record/damaged-line': define<{ line: number; problem: string }>({
    severity: 'caution',
    title: 'a line that is not whole',
    seen: ({ line, problem }, subject) => `Line ${line} of ${subject} does not count: ${problem}.`,
    why: 'Whoever wrote it was cut off (then nothing was confirmed to them), or somebody changed the file by hand. All other lines count.',
    todo: 'Look at the line, and record the room again if it is missing in stickwright round status. The line stays where it is.',
    source: practice,
  }),

  'record/room-gone': define<{ who: string; at: string; what: string }>({
    severity: 'caution',
    title: 'a record of a room that the plan does not have',
    seen: ({ who, at, what }, subject) =>
      `${subject}: ${what}, by ${who} at ${at}. The plan of today has no such room.`,
    why: 'The list was changed since, or the record comes from another round. It is kept, but counts for no room.',
    todo: 'If the room was only renamed, record it under its new name; if the record is of another round, nothing is to be done.',
    source: practice,
  }),

  'record/fails-repeatedly': define<{
    by: 'variant' | 'stick' | 'package';
    failures: number;
    tries: number;
    rooms: readonly string[];
  }>({
    severity: 'caution',
    title: 'the same thing fails more than once',
    seen: ({ by, failures, tries, rooms }, subject) =>
      `${repeatWords[by]} ${subject}: ${failures} of ${countInWords(tries, 'try', 'tries')} failed, in ${listInWords(rooms)}.`,
    why: 'What fails in several rooms is seldom the room: going on costs a walk each, and a panel at worst.',
    todo: ({ by }) => repeatAdvice[by],
    source: practice,
  }),

  'record/families-missing': define<{ problem: string }>({
    severity: 'unproven',
    title: 'builds can only be compared letter by letter',
    seen: ({ problem }) => `The family files of this round cannot be used here: ${problem}`,
    why: 'V1.02 and 1.2 may be one build; without the family only equal texts count as equal.',
    todo: 'Set STICKWRIGHT_FAMILIES, or put the family files where the plan had them, and run it again.',
    source: practice,
  }),

  'record/exported': define<{ bytes: number }>({
    severity: 'note',
    title: 'written',
    seen: ({ bytes }, subject) => `Written: ${subject}, ${sizeInWords(bytes)}.`,
    why: 'What was done, for whoever keeps the list.',
    todo: 'Nothing.',
    source: practice,
  }),

  'record/merged': define<{ added: number; known: number }>({
    severity: 'note',
    title: 'records taken in',
    seen: ({ added, known }, subject) =>
      `${subject}: ${countInWords(added, 'new line')} taken in, ${countInWords(known, 'line was', 'lines were')} there already.`,
    why: 'Every line is kept once, in whichever order folders come back.',
    todo: 'Nothing; the other folder was not changed.',
    source: practice,
  }),
};

const repeatWords = { variant: 'Panels of', stick: 'Stick', package: 'Package' };

const repeatAdvice = {
  variant:
    'Stop with this variant. Read one of the labels again with a second person, compare the release note, and ask the maker before the next room.',
  stick: 'Take this stick out of the round: stickwright verify, and prepare another one in its place.',
  package:
    "Stop with this package. Compare its SHA-256 with the maker's page, download it anew, and ask the maker before the next room.",
};
