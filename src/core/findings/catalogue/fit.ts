import { define } from '../../model/catalogue-entry.ts';
import { lookAlikesInWords } from '../../text/label-text.ts';
import { buildFindings } from './build.ts';
import { familyFindings } from './family.ts';
import { labelFindings } from './label.ts';

interface PartFacts {
  readonly part: string;
  readonly onLabel: string | undefined;
  /** The label does not carry the part; its value is what that absence means. */
  readonly unstated: boolean;
  readonly inName: string | undefined;
  /** The package's name does not carry the part; its value is what that absence means. */
  readonly unnamed: boolean;
  readonly label: string;
  /** Where on the plate the part stands, if the family says. */
  readonly where: string | undefined;
}

interface TokenFacts {
  readonly label: string;
  readonly tokens: readonly string[];
}

const practice = 'common practice, no source';
const wrongPackage =
  'A package for another size, series, generation or factory variant is refused at best; at worst the panel comes up without picture or touch, or not at all.';
const lookAgain = ({ part, where }: PartFacts): string =>
  `Read the ${part} on the panel's plate again${where === undefined ? '' : ` (${where})`}.`;
const saying = (value: string | undefined, absent: boolean): string =>
  absent ? `carries none, which means ${value}` : `says ${value}`;
const list = (items: readonly string[]): string => items.map((item) => `"${item}"`).join(', ');

/** Findings of the areas `label/` and `fit/`: what a label says, and whether a package is made for it. */
export const fitFindings = {
  ...labelFindings,
  ...familyFindings,
  ...buildFindings,

  'fit/fits': define<{ family: string; parts: readonly { part: string; value: string | undefined }[] }>({
    severity: 'note',
    title: 'the package is made for this label',
    seen: ({ family, parts }, subject) =>
      `${subject} agrees with the label in every part that matters for ${family}: ${parts.map(({ part, value }) => `${part} ${value}`).join(', ')}.`,
    why: 'These parts decide which package a panel takes.',
    todo: "Compare the label on the panel once more before you start; the file's name is the maker's claim, not a proof.",
    source: practice,
  }),

  'fit/family-unconfirmed': define<{
    family: string;
    name: string;
    by: string;
    parts: readonly { readonly part: string; readonly where: string }[];
    labels: readonly string[];
    packages: readonly string[];
  }>({
    severity: 'unproven',
    title: 'the family was made from what lay on the table',
    seen: ({ family, by, parts, labels, packages }) =>
      `${family} were described from ${list(labels)} and ${list(packages)}. That these belong together rests on the word of ${by}.${parts.map(({ part, where }) => `\n  ${part}: read in ${where}`).join('')}`,
    why: `A family proves nothing about what it was made from. ${wrongPackage}`,
    todo: ({ name }) =>
      `Compare label, package and release note once more. When a panel of another variant has taken its package, or the maker names such a pair: stickwright family confirm ${name} --label LABEL --package NAME --from WHERE.`,
    source: practice,
  }),

  'fit/name-says-nothing': define<{ label: string }>({
    severity: 'unproven',
    title: "the package's name does not say for which panel it is",
    seen: ({ label }, subject) =>
      `This maker calls every package ${subject}, so the name cannot be compared with "${label}".`,
    why: `Only somebody's word and what is inside say for which panel it is. ${wrongPackage}`,
    todo: 'Keep each such download in a folder that is named after its panel. Compare the release note with the label, and the build that the panel shows before you agree there.',
    source: practice,
  }),

  'fit/name-says-nothing-before-wipe': define<{ label: string }>({
    severity: 'stop',
    title: 'a wipe, and nothing says that the package is for this panel',
    seen: ({ label }, subject) =>
      `The panel will be wiped, and the name ${subject} cannot be compared with "${label}".`,
    why: `A wipe is final, also with the wrong package. ${wrongPackage}`,
    todo: 'Find out from the release note or the maker for which label it is. Then say so: --accept fit/name-says-nothing-before-wipe --because "where it stands".',
    source: practice,
  }),

  'fit/part-differs': define<PartFacts>({
    severity: 'stop',
    title: 'the package is for another panel',
    seen: ({ part, onLabel, unstated, inName, unnamed, label }, subject) =>
      `The ${part} differs: the label ${saying(onLabel, unstated)}, the package ${saying(inName, unnamed)}.\n  label    ${label}\n  package  ${subject}`,
    why: wrongPackage,
    todo: (facts) =>
      `${lookAgain(facts)} If it is right, get the package whose ${facts.part} is ${facts.onLabel} from the maker's support page.`,
    source: practice,
  }),

  'fit/possible-misread': define<PartFacts>({
    severity: 'stop',
    title: 'equal only if a character was misread',
    seen: ({ part, onLabel, inName, label }, subject) =>
      `The ${part} on the label is ${onLabel}, in the package's name ${inName}: these look alike but are not the same.\n  label    ${label}\n  package  ${subject}`,
    why: `${lookAlikesInWords} are taken for one another on plates and in scans, and either may be right. ${wrongPackage}`,
    todo: (facts) =>
      `${lookAgain(facts)} Type the label again exactly as it stands there; let a second person read it too.`,
    source: practice,
  }),

  'fit/part-missing': define<PartFacts>({
    severity: 'stop',
    title: 'a part that decides the package is not stated',
    seen: ({ part, onLabel, inName, label }, subject) =>
      onLabel === undefined
        ? `The label states no ${part}; the package is for ${part} ${inName ?? '(not stated either)'}.\n  label    ${label}\n  package  ${subject}`
        : `The package's name states no ${part}; the label says ${onLabel}.\n  label    ${label}\n  package  ${subject}`,
    why: `Nobody can tell whether they belong together. ${wrongPackage}`,
    todo: (facts) =>
      facts.onLabel === undefined
        ? `${lookAgain(facts)} Then type the whole label.`
        : "Look in the package's release note for the panels it is made for, or get it again from the maker's support page under its own name.",
    source: practice,
  }),

  'fit/package-name-unknown': define<{
    family: string | undefined;
    example: string;
    /** What it would be under the name that it had before a download or a copy changed it. */
    before: { readonly name: string; readonly family: string; readonly fits: boolean } | undefined;
  }>({
    severity: 'stop',
    title: "the package's name is not one of this family's",
    seen: ({ family, example, before }, subject) => {
      const unread =
        family === undefined
          ? `No given family reads the name ${subject}.`
          : `${subject} is not named as packages of ${family} are${example === '' ? '' : ` (such as ${example})`}.`;
      if (before === undefined) return unread;
      const would = before.fits ? 'and it would fit this label' : 'and it would not fit this label';
      return `${unread} As "${before.name}" it would be a package of ${before.family}, ${would}.`;
    },
    why: 'The name says which panels a package is made for, and a panel may not list a file under another name.',
    todo: ({ before }) => {
      if (before === undefined)
        return "Get it again from the maker's support page and keep the name that it has there. If the maker names packages in a new way, add that to the family file.";
      if (!before.fits)
        return "Get the package for exactly this label from the maker's support page, and keep the name that it has there.";
      return `A browser names a second download so, and it may be another build than the first. Compare its size or hash with the support page; if they agree, rename the file to "${before.name}".`;
    },
    source: practice,
  }),

  'fit/package-digits-differ': define<{
    places: readonly { readonly family: string; readonly place: string; readonly what: string }[];
  }>({
    severity: 'stop',
    title: "only the number of digits keeps this package's name from being read",
    seen: ({ places }, subject) =>
      places
        .map(({ family, place, what }) => `${subject} would be a package of ${family}, but ${what} (${place}).`)
        .join(' '),
    why: `The maker may count on to more digits, or the name was changed. ${wrongPackage}`,
    todo: (_facts, subject) =>
      `Compare the name with the maker's support page, letter by letter. If it stands there so, the line of the family file is too narrow: stickwright family widen "${subject}" shows what would change.`,
    source: practice,
  }),

  'fit/package-of-another-family': define<{ label: string; panel: string; package: string }>({
    severity: 'stop',
    title: 'the package is for another family',
    seen: (facts, subject) =>
      `The label belongs to ${facts.panel}, the package to ${facts.package}.\n  label    ${facts.label}\n  package  ${subject}`,
    why: wrongPackage,
    todo: "Read the label on the panel's plate again. If it is right, get the package for that family from its maker's support page.",
    source: practice,
  }),

  'fit/package-of-two-families': define<{ families: readonly string[] }>({
    severity: 'stop',
    title: 'several families claim this package name',
    seen: ({ families }, subject) => `${subject} is read as a package of ${list(families)}.`,
    why: 'The name alone does not say whose package it is, and the wrong one can disable a panel.',
    todo: 'Find out from where the file was downloaded whose it is, then name that one family file with --family.',
    source: practice,
  }),

  'fit/no-family': define<{ families: readonly string[] }>({
    severity: 'unproven',
    title: 'no family file for this label',
    seen: ({ families }, subject) =>
      families.length === 0
        ? `There is no family file, so nobody says what the parts of "${subject}" mean.`
        : `None of the ${families.length} family files reads "${subject}" or the package's name (${families.slice(0, 5).join(', ')}).`,
    why: 'The label and the file name were only compared word by word; which parts decide the package is not known.',
    todo: 'Compare label, package name and release note yourself, part by part. A family file for these panels (stickwright family new) makes it a real check.',
    source: practice,
  }),

  'fit/tokens-differ': define<{ label: string; differing: readonly { onLabel: string; inName: string }[] }>({
    severity: 'stop',
    title: 'the label and the file name differ',
    seen: ({ label, differing }, subject) =>
      `${differing.map(({ onLabel, inName }) => `The label has ${onLabel} where the file name has ${inName}.`).join(' ')}\n  label    ${label}\n  package  ${subject}`,
    why: wrongPackage,
    todo: "Read the label on the panel's plate again and compare it with the release note. If the difference does not matter for these panels, a family file says so once and for all.",
    source: practice,
  }),

  'fit/tokens-misread': define<TokenFacts>({
    severity: 'stop',
    title: 'equal only if a character was misread',
    seen: ({ label, tokens }, subject) =>
      `${list(tokens)} of the label is in the file name only if letters and digits that look alike are taken for one another.\n  label    ${label}\n  package  ${subject}`,
    why: `Either may be right: ${lookAlikesInWords} are taken for one another. ${wrongPackage}`,
    todo: "Read the label on the panel's plate again and type it exactly as it stands there; let a second person read it too.",
    source: practice,
  }),

  'fit/tokens-missing': define<TokenFacts>({
    severity: 'unproven',
    title: 'parts of the label are not in the file name',
    seen: ({ label, tokens }, subject) =>
      tokens.length === 0
        ? `There is nothing in the label that could be looked for in the file name.\n  label    ${label}\n  package  ${subject}`
        : `The file name does not have ${list(tokens)} of the label.\n  label    ${label}\n  package  ${subject}`,
    why: 'A package may serve several sizes or variants and leave them out of its name, or it may be for another panel.',
    todo: 'Look in the release note for the panels that the package is made for.',
    source: practice,
  }),

  'fit/tokens-missing-before-wipe': define<TokenFacts>({
    severity: 'stop',
    title: 'cannot tell whether this package may wipe this panel',
    seen: ({ label, tokens }, subject) =>
      `The file name does not have ${list(tokens)} of the label, and no family file says whether that matters.\n  label    ${label}\n  package  ${subject}`,
    why: 'A recovery wipes the panel first and asks nothing; with the wrong package nothing is left to go back to.',
    todo: "Look in the release note for the panels that the package is made for. If it names this label, go on with --accept fit/tokens-missing-before-wipe --because and the release note's words.",
    source: practice,
  }),
};
