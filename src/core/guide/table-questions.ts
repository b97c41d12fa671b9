import type { FleetExamples } from '../label/propose-family.ts';
import type { Parts } from '../model/panel-identity.ts';
import { visible } from '../text/visible.ts';
import { type Answers, answerTo, firstOpen, type Question } from './question.ts';
import {
  guessFamilyName,
  guessTableParts,
  isBuild,
  readTableParts,
  type TableParts,
  tableExamples,
  writeTableParts,
} from './table-family.ts';

/** What must be asked to describe a panel that no family knows, from the label and the package on the table. */
export function askTable(label: string, fileName: string, answers: Answers): Question | undefined {
  const parts = partsQuestion(label, fileName);
  const table = tableFrom(answers, label, fileName);
  if (table === undefined) return firstOpen([parts], answers);
  return firstOpen([parts, ...(table.build === undefined ? [saidBuild] : []), whereQuestion(fileName, table)], answers);
}

function tableFrom(answers: Answers, label: string, fileName: string): TableParts | undefined {
  const typed = answerTo(answers, 'table.parts');
  const read = typed === undefined ? undefined : readTableParts(typed, label, fileName);
  return read !== undefined && 'table' in read ? read.table : undefined;
}

function partsQuestion(label: string, fileName: string): Question {
  const guess = guessTableParts(label, fileName);
  return {
    id: 'table.parts',
    kind: 'line',
    before:
      'No family file knows this label, so one is made now. These seem to be the parts of the label, and the build in the file name. Parts that stand in both decide which package fits.',
    text: 'Right so? Enter, or write it as it is',
    otherwise: writeTableParts(guess),
    check: (line) => {
      const read = readTableParts(line, label, fileName);
      return 'wrong' in read ? read.wrong : undefined;
    },
  };
}

const saidBuild: Question = {
  id: 'table.build',
  kind: 'line',
  before: 'No build stands in the file name.',
  text: 'Which build does it bring, as the release note says (Enter: not known)?',
  mayBeEmpty: true,
  check: (answer) =>
    answer.trim() === '' || isBuild(answer) ? undefined : `"${visible(answer)}" reads as no date, version or number.`,
};

/** The person's word is all there is; it is kept with where it comes from, part by part. */
function whereQuestion(fileName: string, { label, shared }: TableParts): Question {
  const parts = shared.map((part) => `${part} ${label[part]}`);
  const what = parts.length === 0 ? 'for this label' : `for ${parts.join(', ')}`;
  const [one = 'series'] = shared;
  return {
    id: 'table.where',
    kind: 'line',
    before:
      parts.length === 0
        ? `The name ${visible(fileName)} says nothing of the panel. A stick of it stays UNPROVEN.`
        : `Nothing here proves that. What is prepared stays UNPROVEN until another panel confirms the family. One answer for all parts, or part by part: ${one}: release note; …`,
    text: `Where did you read that it is ${what}?`,
    check: (answer) => {
      const unknown = whereParts(answer, shared)?.find(([part]) => !shared.includes(part));
      return unknown === undefined
        ? undefined
        : `There is no part ${visible(unknown[0])}; there are ${shared.join(', ')}.`;
    },
  };
}

/** Of a package whose name says nothing, of a family that is known already: whose word is it? */
export const wordQuestion = (fileName: string): Question =>
  whereQuestion(fileName, { label: {}, shared: [], build: undefined });

/** `series: release note; factory: plate`; undefined where it is one answer for all. */
function whereParts(answer: string, shared: readonly string[]): readonly (readonly [string, string])[] | undefined {
  const pairs = answer.split(';').map((one) => /^\s*(\w+)\s*:\s*(\S.*?)\s*$/.exec(one));
  if (!pairs.every((pair) => pair !== null)) return undefined;
  const named = pairs.map((pair) => [pair?.[1] ?? '', pair?.[2] ?? ''] as const);
  return named.some(([part]) => shared.includes(part)) ? named : undefined;
}

interface Answered {
  readonly label: string;
  readonly fileName: string;
  readonly answers: Answers;
  readonly by: string;
  /** Names of the families that there are. */
  readonly taken: readonly string[];
}

/** The examples that the answers make; all questions above must have been answered. */
export function tableOf({ label, fileName, answers, by, taken }: Answered): FleetExamples {
  const table = tableFrom(answers, label, fileName) ?? guessTableParts(label, fileName);
  const answer = answerTo(answers, 'table.where')?.trim() ?? '';
  const named = new Map(whereParts(answer, table.shared) ?? []);
  const whereRead: Parts =
    table.shared.length === 0
      ? { package: answer }
      : Object.fromEntries(
          table.shared.map((part) => [part, named.size === 0 ? answer : (named.get(part) ?? 'not said')]),
        );
  const said = answerTo(answers, 'table.build')?.trim() || undefined;
  const family = guessFamilyName(label, fileName, table, taken);
  return tableExamples({ family, label, fileName, table, by, whereRead, saidBuild: said });
}
