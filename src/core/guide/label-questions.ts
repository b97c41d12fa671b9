import { checkLabel } from '../checks/fit/check-label.ts';
import { type Finding, severityOf, textsOf } from '../findings/finding.ts';
import { compareEntries } from '../label/compare-fit.ts';
import { findModelInPlate } from '../label/find-model-in-plate.ts';
import { readLabel } from '../label/read-label.ts';
import type { Family } from '../model/family.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import { normaliseLabel, splitLabels } from '../text/label-text.ts';
import { visible } from '../text/visible.ts';
import { type Answers, answerTo, backSign, type Choice, firstOpen, type Question } from './question.ts';

const labelQuestion: Question = {
  id: 'label',
  kind: 'plate',
  text: "The label on the panel's back, as it is printed (or paste the whole plate)",
  check: (answer) => (normaliseLabel(answer) === '' ? 'There is nothing in it that could be seen.' : undefined),
};

/** Several lines, as a plate has them. */
export const isPlate = (text: string): boolean => /\r|\n/.test(text.trim());

/** The label to work with: as typed, or the line of the plate that was picked. */
export const labelOf = (answers: Answers): string =>
  (answerTo(answers, 'label.line') ?? answerTo(answers, 'label') ?? '').trim();

/** A label is typed twice, or pasted with its plate and picked; what no family reads is looked at once more. */
export function nextLabelQuestion(families: readonly Family[], answers: Answers): Question | undefined {
  const typed = answerTo(answers, 'label');
  if (typed === undefined) return labelQuestion;
  const second = isPlate(typed) ? lineOfPlate(typed, families) : again(typed);
  const open = firstOpen([labelQuestion, second], answers);
  if (open !== undefined) return open;
  const doubt = doubtOf(readLabel(labelOf(answers), families), families);
  return doubt === undefined ? undefined : firstOpen([really(doubt)], answers);
}

const again = (first: string): Question => ({
  id: 'label.again',
  kind: 'line',
  text: 'The same once more, best read by somebody else (< : type the first anew)',
  check: (second) => {
    const { answer, at, ...both } = compareEntries(first, second);
    if (answer === 'agree') return undefined;
    const mark = `${' '.repeat(at ?? 0)}^`;
    const alike = answer === 'misread' ? ' They look alike there.' : '';
    return `They differ.${alike} Read the plate again.\n  first   ${visible(both.first)}\n  second  ${visible(both.second)}\n          ${mark}`;
  },
});

export function lineOfPlate(plate: string, families: readonly Family[]): Question {
  const found = findModelInPlate(plate, families);
  const known = found.answer === 'misread' || found.answer === 'none' ? [] : found.candidates.map(({ text }) => text);
  const lines = splitLabels(plate).map(({ text }) => normaliseLabel(text));
  const choices = [...new Set([...known, ...lines])].filter((text) => text !== '').slice(0, 12);
  return {
    id: 'label.line',
    kind: 'choice',
    text: 'Which line is the model? Compare it with the plate, letter by letter',
    choices: [
      ...choices.map((value): Choice => ({ value, name: visible(value) })),
      back('label', 'none: paste it anew'),
    ],
  };
}

/** A choice that asks an earlier question anew. */
export const back = (id: string, name: string): Choice => ({ value: `${backSign}${id}`, name });

/** What speaks for a slip in a label that no family reads; undefined where nothing does. */
export const doubtOf = (reading: LabelReading, families: readonly Family[]): Finding | undefined =>
  reading.readings.length > 0
    ? undefined
    : checkLabel(reading, families).find((found) => severityOf(found) === 'stop' && found.code !== 'label/unreadable');

/** A slip is likelier than a new kind of panel. */
export function really(doubt: Finding): Question {
  const { title, seen, todo } = textsOf(doubt);
  return {
    id: 'label.really',
    kind: 'choice',
    before: `${title.charAt(0).toUpperCase()}${title.slice(1)} [${doubt.code}]. ${seen}\n${todo}`,
    text: 'How does it stand on the plate?',
    choices: [
      back('label', 'otherwise: I type it again'),
      { value: 'yes', name: 'exactly as typed; it is another kind of panel' },
    ],
  };
}
