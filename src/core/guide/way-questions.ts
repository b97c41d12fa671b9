import type { Family } from '../model/family.ts';
import { type WayField, wayFields } from '../model/room.ts';
import { type Answers, answerTo, firstOpen, type Question } from './question.ts';

const starts = {
  id: 'way.starts',
  kind: 'choice',
  text: 'Does the panel start, up to its home screen?',
  choices: [
    { value: 'yes', name: 'yes' },
    { value: 'no', name: 'no: dark, stuck, or starting again and again' },
    { value: 'unknown', name: 'nobody has looked yet' },
  ],
} as const satisfies Question;

const air = {
  id: 'way.air',
  kind: 'choice',
  text: 'What does its own update over the network say?',
  choices: [
    { value: 'cannot', name: 'it cannot be online' },
    { value: 'fails', name: 'it finds an update, but fails at it' },
    { value: 'nothing', name: 'it finds nothing newer' },
    { value: 'offers', name: 'it offers an update' },
    { value: 'offline', name: 'it is not online now, but could be' },
    { value: 'unknown', name: 'nobody has looked yet' },
  ],
} as const satisfies Question;

const settings = {
  id: 'way.settings',
  kind: 'choice',
  text: 'Can somebody open its settings (sign in, passcode)?',
  choices: [
    { value: 'yes', name: 'yes' },
    { value: 'failed-twice', name: 'yes, but updating from a stick there failed twice, completely' },
    { value: 'maker', name: "yes, but the maker's document asks for recovery" },
    { value: 'no', name: 'no' },
  ],
} as const satisfies Question;

const keep = {
  id: 'way.keep',
  kind: 'choice',
  text: 'Recovery wipes the panel. Is anything on it worth keeping?',
  choices: [
    { value: 'no', name: 'no, or all of it is copied off' },
    { value: 'yes', name: 'yes' },
    { value: 'unknown', name: 'nobody knows' },
  ],
} as const satisfies Question;

const approved = {
  id: 'way.approved',
  kind: 'line',
  text: 'Who approved the wipe (a name; empty: nobody yet)?',
  mayBeEmpty: true,
} as const satisfies Question;

/** The questions of which a list may hold the answers, by the name of its column. */
export const wayQuestions = { starts, air, settings, keep } as const satisfies Record<WayField, Question>;

/** What a list says, field by field, as answers; an approval that nobody gave is an answer too. */
export const answersOfList = (
  fields: Readonly<Partial<Record<WayField, string>>>,
  approvedBy: string | undefined,
): Answers => ({
  ...Object.fromEntries(
    wayFields.flatMap((field) => (fields[field] === undefined ? [] : [[wayQuestions[field].id, fields[field]]])),
  ),
  [approved.id]: approvedBy ?? '',
});

/** What must still be asked about a panel of this family; undefined where the way is known. */
export function nextWayQuestion(
  answers: Answers,
  family: Family | undefined,
  isDowngrade = false,
): Question | undefined {
  const questions: Question[] = [starts];
  const said = withImplied(answers);
  if (answerTo(said, starts.id) === 'yes') {
    questions.push(air);
    if (!updatesItself(answers)) questions.push(settings);
  }
  if (wipes(said, family, isDowngrade)) {
    questions.push(keep);
    if (answerTo(answers, keep.id) === 'no') questions.push(approved);
  }
  return firstOpen(questions, said);
}

/** A panel whose own update says something, or whose settings somebody opened, starts: nobody need say it again. */
export function withImplied(answers: Answers): Answers {
  const isSeen =
    ['offers', 'nothing', 'fails'].includes(answerTo(answers, air.id) ?? '') ||
    answerTo(answers, settings.id) === 'yes';
  return answerTo(answers, starts.id) === undefined && isSeen ? { ...answers, [starts.id]: 'yes' } : answers;
}

/** Its own update does it, or would if it were online. */
export const updatesItself = (answers: Answers): boolean =>
  ['offers', 'offline'].includes(answerTo(answers, air.id) ?? '');

function wipes(answers: Answers, family: Family | undefined, isDowngrade: boolean): boolean {
  const start = answerTo(answers, starts.id);
  if (start !== 'yes') return start === 'no';
  if (updatesItself(answers)) return false;
  const opens = answerTo(answers, settings.id);
  const rules = family?.modes['in-os'];
  const wipesInOs =
    family !== undefined && (rules?.['keeps-data'] !== true || (isDowngrade && refusesDowngrade(family)));
  return opens === 'failed-twice' || opens === 'maker' || (opens === 'yes' && wipesInOs);
}

export const refusesDowngrade = (family: Family | undefined): boolean =>
  family?.modes['in-os']?.['takes-downgrade'] === false;
