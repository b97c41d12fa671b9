import { type Finding, finding } from '../../findings/finding.ts';
import { compareFit, compareTokens } from '../../label/compare-fit.ts';
import { whereOf } from '../../label/find-misreads.ts';
import { nameBeforeCopy } from '../../label/name-before-copy.ts';
import { readPackageName } from '../../label/read-label.ts';
import { isRead, unstatedParts } from '../../label/read-with-grammar.ts';
import type { Family } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { LabelReading, PackageReading } from '../../model/panel-identity.ts';
import { normaliseLabel } from '../../text/label-text.ts';
import { checkInvisible, checkLabel } from './check-label.ts';
import { checkOrigin } from './check-origin.ts';
import { changesInWords, placeInWords, widenForPackage } from './find-widening.ts';

interface FitQuestion {
  readonly label: LabelReading;
  readonly package: PackageReading;
  /** The families that both were read with; empty where there is none. */
  readonly families: readonly Family[];
  /**
   * The person named the families for this run: the label must then be one of theirs. Otherwise it may be a stranger.
   */
  readonly familiesNamed: boolean;
  /** The panel will be wiped: what cannot be told then needs a person's word. */
  readonly wipes: boolean;
}

/**
 * Whether a label and a package belong together. All whole parts equal is the only answer without a stop; with no
 * family for either, tokens are compared and the answer is at best `unproven`.
 */
export function checkFit(question: FitQuestion): readonly Finding[] {
  const { label, families } = question;
  const [panel, ...otherPanels] = label.readings;
  const [made, ...others] = question.package.readings;
  const stranger = made === undefined && !question.familiesNamed;
  if (panel === undefined && (families.length === 0 || stranger)) return withoutFamily(question);
  const comparable = panel !== undefined && otherPanels.length === 0 && made !== undefined && others.length === 0;
  const rest = comparable ? compareWithin(question, panel, made) : packageFindings(question);
  return [...checkLabel(label, families), ...rest];
}

/**
 * Whether the one family of the label updates its panels in this mode at all; where it is not known nobody can tell.
 */
export const checkMode = (mode: Mode, family: Family | undefined): readonly Finding[] =>
  family === undefined || family.modes[mode] !== undefined
    ? []
    : [finding('plan/mode-not-offered', mode, { mode, family: family.title, offered: Object.keys(family.modes) })];

const looksLikeAKnownOne: ReadonlySet<string> = new Set([
  'label/possible-misread',
  'label/read-otherwise',
  'label/letters-of-another-alphabet',
]);

/** A family may be missing, or the label misread into nothing: look-alikes of a known family are said first. */
function withoutFamily(question: FitQuestion): readonly Finding[] {
  const { label, families } = question;
  const known = checkLabel(label, families).filter(({ code }) => looksLikeAKnownOne.has(code));
  const titles = families.map(({ title }) => title);
  return [
    ...checkInvisible(label.text),
    ...known,
    finding('fit/no-family', label.normalised, { families: titles }),
    ...checkTokens(label.text, question.package.fileName, question.wipes),
  ];
}

/** The package's side where its name is read by no family, by several, or by one the label does not belong to. */
function packageFindings({ label, package: named, families }: FitQuestion): readonly Finding[] {
  const { fileName, readings } = named;
  const [first, ...others] = readings;
  const [panel] = label.readings;
  if (first === undefined) {
    const wider = widenForPackage(fileName, panel === undefined ? families : [panel.family]);
    if (wider.length > 0) {
      const places = wider.map((one) => ({
        family: one.family.title,
        place: placeInWords(one),
        what: changesInWords(one),
      }));
      return [finding('fit/package-digits-differ', fileName, { places })];
    }
    const family = panel?.family;
    const example = family?.packages[0]?.examples[0]?.text ?? '';
    const before = underNameBefore(fileName, label, families);
    return [finding('fit/package-name-unknown', fileName, { family: family?.title, example, before })];
  }
  if (others.length === 0) return [];
  return [finding('fit/package-of-two-families', fileName, { families: readings.map(({ family }) => family.title) })];
}

/** What the package would be under the name that it had before a second download or a copy changed it. */
function underNameBefore(fileName: string, label: LabelReading, families: readonly Family[]) {
  const before = nameBeforeCopy(fileName);
  if (before === undefined) return undefined;
  const name = before.original;
  const [made, ...others] = readPackageName(name, families).readings;
  if (made === undefined || others.length > 0) return undefined;
  const [panel, ...otherPanels] = label.readings;
  const known = panel !== undefined && otherPanels.length === 0 && panel.family.family === made.family.family;
  const fits = known && compareFit(panel.parts, made.parts, made.agree).answer === 'fits';
  return { name, family: made.family.title, fits };
}

function compareWithin(
  { label, package: { fileName }, wipes }: FitQuestion,
  panel: LabelReading['readings'][number],
  made: PackageReading['readings'][number],
): readonly Finding[] {
  if (panel.family.family !== made.family.family) {
    const facts = { label: label.normalised, panel: panel.family.title, package: made.family.title };
    return [finding('fit/package-of-another-family', fileName, facts)];
  }
  const origin = checkOrigin(fileName, panel.family);
  if (made.agree.length === 0) return [...nameSaysNothing(label.normalised, fileName, wipes), ...origin];
  const fit = compareFit(panel.parts, made.parts, made.agree);
  if (fit.answer === 'fits') {
    const facts = { family: panel.family.title, parts: fit.parts.map(({ part, label: value }) => ({ part, value })) };
    return [finding('fit/fits', fileName, facts), ...origin];
  }
  const unstated = unstatedParts(label.normalised, panel.family.label);
  const name = fileName.normalize('NFC');
  const grammar = made.family.packages.find((one) => isRead(name, one));
  const unnamed = grammar === undefined ? [] : unstatedParts(name, grammar);
  return fit.parts.flatMap(({ part, label: onLabel, other: inName, relation }) => {
    if (relation === 'equal') return [];
    const where = whereOf(panel.family, part);
    const facts = {
      ...{ part, onLabel, unstated: unstated.includes(part), inName, unnamed: unnamed.includes(part) },
      ...{ label: label.normalised, where },
    };
    return [finding(codeOf[relation], fileName, facts)];
  });
}

/** Before a wipe it takes a person's word by name; and it stays unproven with it. */
const nameSaysNothing = (label: string, fileName: string, wipes: boolean): readonly Finding[] => [
  ...(wipes ? [finding('fit/name-says-nothing-before-wipe', fileName, { label })] : []),
  finding('fit/name-says-nothing', fileName, { label }),
];

const codeOf = {
  differs: 'fit/part-differs',
  misread: 'fit/possible-misread',
  missing: 'fit/part-missing',
} as const;

/** Compares a label with a file name where no family says what the parts mean. */
function checkTokens(labelText: string, fileName: string, wipes: boolean): readonly Finding[] {
  const label = normaliseLabel(labelText);
  const fit = compareTokens(label, fileName);
  const withRelation = (relation: string) => fit.parts.filter((token) => token.relation === relation);
  if (fit.answer === 'fits') return [];
  const differing = withRelation('differs').map(({ part, other }) => ({ onLabel: part, inName: other ?? '' }));
  if (differing.length > 0) return [finding('fit/tokens-differ', fileName, { label, differing })];
  const misread = withRelation('misread').map(({ part }) => part);
  if (misread.length > 0) return [finding('fit/tokens-misread', fileName, { label, tokens: misread })];
  const tokens = withRelation('missing').map(({ part }) => part);
  return [finding(wipes ? 'fit/tokens-missing-before-wipe' : 'fit/tokens-missing', fileName, { label, tokens })];
}
