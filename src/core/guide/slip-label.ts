import { checkLabel, checkPlate } from '../checks/fit/check-label.ts';
import type { FactsOf } from '../findings/catalogue.ts';
import type { Finding } from '../findings/finding.ts';
import { compareEntries } from '../label/compare-fit.ts';
import { findModelInPlate } from '../label/find-model-in-plate.ts';
import { readLabel } from '../label/read-label.ts';
import { readWithGrammar } from '../label/read-with-grammar.ts';
import type { Family } from '../model/family.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import { foreignLetters, upperForComparing } from '../text/label-text.ts';
import { doubtOf, isPlate, lineOfPlate, really } from './label-questions.ts';
import { type Answers, answerTo, type Question } from './question.ts';

/** A stretch of the label: a part with its name, or what stands between two. */
export interface LabelStretch {
  readonly text: string;
  readonly part: string | undefined;
  /** These letters are to be looked at once more. */
  readonly isDoubtful?: true;
}

/** The label's part of the slip. */
export interface SlipLabel {
  /** As typed, or the line of the plate that was picked. */
  readonly text: string;
  /** Which line of the plate that was pasted is the model; undefined where none was pasted. */
  readonly plate: Question | undefined;
  readonly reading: LabelReading;
  /** The one family that reads it. */
  readonly family: Family | undefined;
  readonly stretches: readonly LabelStretch[];
  readonly findings: readonly Finding[];
  /** The form to take over, where it was written otherwise than it is printed. */
  readonly exact: string | undefined;
  /** Whether it stands so on the plate, where a slip is likelier than another kind of panel. */
  readonly doubt: Question | undefined;
  /** It is no label yet, but begins one. */
  readonly isBegun: boolean;
  /** No family reads it, and it is no slip: a family can be made of it and its package. */
  readonly isNew: boolean;
  /** The second entry beside the first; undefined where it was not typed yet. */
  readonly second: ReturnType<typeof compareEntries> | undefined;
  /** Read twice and alike, or picked from the plate. */
  readonly isCompared: boolean;
  readonly isSure: boolean;
}

/** What was written in the label's part: read, compared and judged with every letter that is typed. */
export function labelPart(families: readonly Family[], answers: Answers): SlipLabel {
  const typed = answerTo(answers, 'label') ?? '';
  const plate = isPlate(typed) ? lineOfPlate(typed, families) : undefined;
  const text = (plate === undefined ? typed : (answerTo(answers, 'label.line') ?? '')).trim();
  const again = answerTo(answers, 'label.again');
  const reading = readLabel(text, families);
  const [only, ...others] = reading.readings;
  const family = others.length === 0 ? only?.family : undefined;
  const second = plate !== undefined || again === undefined || again === '' ? undefined : compareEntries(text, again);
  const isCompared = text !== '' && (plate !== undefined || second?.answer === 'agree');
  const findings = text === '' ? [] : checkLabel(reading, families);
  const slip = text === '' ? undefined : doubtOf(reading, families);
  const doubt = slip === undefined || slip.code === 'label/read-otherwise' ? undefined : really(slip);
  const isNew = text !== '' && only === undefined;
  return {
    text,
    plate,
    reading,
    family,
    stretches: stretchesOf(reading, family, findings),
    findings: [...(plate === undefined ? [] : checkPlate(findModelInPlate(typed, families))), ...findings],
    exact: findings.flatMap((found) => exactOf(found))[0],
    doubt,
    isBegun: isNew && beginsOne(findings, text),
    isNew: isNew && (slip === undefined || (doubt !== undefined && answerTo(answers, doubt.id) === 'yes')),
    second,
    isCompared,
    isSure: family !== undefined && isCompared,
  };
}

const exactOf = ({ code, facts }: Finding): readonly string[] =>
  code === 'label/read-otherwise' ? [(facts as FactsOf<typeof code>).exact] : [];

/** All of it could be the beginning of some family's label. */
const beginsOne = (findings: readonly Finding[], text: string): boolean =>
  findings.some(({ code, facts }) => {
    const place = code === 'label/unreadable' ? (facts as FactsOf<typeof code>).place : undefined;
    return place !== undefined && place[0] >= [...text].length;
  });

/** The label in the order of its letters, each part with its name. */
function stretchesOf(
  { normalised }: LabelReading,
  family: Family | undefined,
  findings: readonly Finding[],
): readonly LabelStretch[] {
  const read = family === undefined ? undefined : readWithGrammar(normalised, family.label);
  if (read?.parts === undefined) return doubtful(normalised, lettersInDoubt(normalised, findings));
  const spans = Object.entries(read.spans).toSorted(([, [a]], [, [b]]) => a - b);
  const stretches: LabelStretch[] = [];
  let at = 0;
  for (const [part, [start, end]] of spans) {
    if (start < at || start === end) continue;
    if (start > at) stretches.push({ text: normalised.slice(at, start), part: undefined });
    stretches.push({ text: normalised.slice(start, end), part });
    at = end;
  }
  if (at < normalised.length) stretches.push({ text: normalised.slice(at), part: undefined });
  return stretches;
}

/** Where no family reads it: letters to look at once more, and what stands between. */
function doubtful(text: string, places: ReadonlySet<number>): readonly LabelStretch[] {
  const stretches: { text: string; part: undefined; isDoubtful?: true }[] = [];
  [...text].forEach((letter, at) => {
    const last = stretches.at(-1);
    const isDoubtful = places.has(at);
    if (last !== undefined && (last.isDoubtful === true) === isDoubtful) last.text += letter;
    else stretches.push({ text: letter, part: undefined, ...(isDoubtful ? { isDoubtful } : {}) });
  });
  return stretches;
}

/** The letters that a finding is about, counted from 0. */
function lettersInDoubt(text: string, findings: readonly Finding[]): ReadonlySet<number> {
  const foreign = foreignLetters(text).map(({ at }) => at - 1);
  const places = findings.flatMap(({ code, facts }) => {
    if (code === 'label/possible-misread')
      return differing(text, (facts as FactsOf<typeof code>).candidates[0]?.text ?? text);
    const place = code === 'label/unreadable' ? (facts as FactsOf<typeof code>).place : undefined;
    return place === undefined ? [] : Array.from({ length: place[1] - place[0] }, (_, index) => place[0] + index);
  });
  return new Set([...foreign, ...places]);
}

/** Where two texts of one length differ; else only the first place can be told. */
function differing(text: string, other: string): readonly number[] {
  const [a, b] = [[...upperForComparing(text)], [...upperForComparing(other)]];
  const places = a.flatMap((letter, at) => (letter === b[at] ? [] : [at]));
  return a.length === b.length ? places : places.slice(0, 1);
}
