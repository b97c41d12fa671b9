import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import { lookAlikesInWords } from '../../text/label-text.ts';

const practice = 'common practice, no source';
const wrongPackage =
  'The label decides which package the panel takes; a wrong one is refused at best and leaves the panel dead at worst.';
const list = (items: readonly string[]): string => items.map((item) => `"${item}"`).join(', ');

/** Findings of the area `label/`: what a label says by itself. */
export const labelFindings = {
  'label/read': define<{
    family: string;
    parts: Readonly<Record<string, string>>;
    /** Parts that have their value from the family's `absent`, because the label does not carry them. */
    unstated: readonly string[];
  }>({
    severity: 'note',
    title: 'the label is read',
    seen: ({ family, parts, unstated }, subject) =>
      `"${subject}" is a label of ${family}: ${Object.entries(parts)
        .map(([part, value]) => `${part} ${value}${unstated.includes(part) ? ' (by its absence)' : ''}`)
        .join(', ')}.`,
    why: 'A part that the plate does not carry has the meaning that the family gives to its absence.',
    todo: 'Compare each part with the plate on the panel; bezel and box do not count.',
    source: practice,
  }),

  'label/invisible-characters': define<{ places: string }>({
    severity: 'caution',
    title: 'the label holds characters that cannot be seen',
    seen: ({ places }, subject) => `${places}. It was read as "${subject}".`,
    why: 'They come along when a label is copied from a list, a mail or a page. Something that can be seen may have been lost or changed there too, and the label decides which package the panel takes.',
    todo: 'Compare the label as it was read with the plate on the panel, letter by letter, or type it instead of pasting it.',
    source: 'Unicode Standard, UAX #44; common practice',
  }),

  'label/order-changed': define<{ places: string }>({
    severity: 'stop',
    title: 'the label holds characters that change the order in which it is shown',
    seen: ({ places }, subject) =>
      `${places}. Without them it reads "${subject}", and elsewhere it may be shown otherwise.`,
    why: `What somebody sees and what is read are then two labels. ${wrongPackage}`,
    todo: 'Type the label as it stands on the plate, instead of pasting it.',
    source: 'Unicode Standard, UAX #9, 2; UTR #36',
  }),

  'label/no-family': define<NoFacts>({
    severity: 'unproven',
    title: 'no family file to read the label with',
    seen: (_facts, subject) => `There is no family file, so nobody says what the parts of "${subject}" mean.`,
    why: wrongPackage,
    todo: 'Name a family file with --family, or make one with stickwright family new.',
    source: practice,
  }),

  'label/read-by-two-families': define<{ families: readonly string[] }>({
    severity: 'stop',
    title: 'several families read this label',
    seen: ({ families }, subject) => `"${subject}" is read as a label of ${list(families)}.`,
    why: 'Each has packages of its own, and the wrong one can disable a panel.',
    todo: "Look at the maker's name on the plate, then name that one family file with --family.",
    source: practice,
  }),

  'label/possible-misread': define<{
    candidates: readonly { readonly text: string; readonly families: readonly string[] }[];
  }>({
    severity: 'stop',
    title: 'a character of the label was perhaps misread',
    seen: ({ candidates }, subject) =>
      `No family reads "${subject}", but it looks like ${candidates.map(({ text, families }) => `"${text}" (${families.join(', ')})`).join(' or ')}.`,
    why: `${lookAlikesInWords} are taken for one another on plates and in scans. ${wrongPackage}`,
    todo: 'Read the plate on the panel again, at that character, and type the label exactly as it stands there; let a second person read it too. It is not corrected for you.',
    source: practice,
  }),

  'label/digits-differ': define<{
    places: readonly { readonly family: string; readonly place: string; readonly what: string }[];
  }>({
    severity: 'stop',
    title: 'only the number of digits keeps this label from being read',
    seen: ({ places }, subject) =>
      places
        .map(({ family, place, what }) => `"${subject}" would be a label of ${family}, but ${what} (${place}).`)
        .join(' '),
    why: `A digit may have been lost or typed twice, or the plate is right and the family file does not know it yet. ${wrongPackage}`,
    todo: (_facts, subject) =>
      `Count the digits on the plate. If they stand there so, the plate was read right and the line of the family file is too narrow: stickwright family widen "${subject}" shows what would change.`,
    source: practice,
  }),

  'label/read-otherwise': define<{
    exact: string;
    parts: readonly { readonly family: string; readonly part: string; readonly value: string }[];
  }>({
    severity: 'stop',
    title: 'the label is written otherwise than on the plate',
    seen: ({ exact, parts }, subject) =>
      `"${subject}" was read as "${exact}": ${parts[0]?.family ?? 'a family'}, ${parts.map(({ part, value }) => `${part} ${value}`).join(', ')}. Nobody has confirmed that.`,
    why: `A separator or a word more or less may be a part of another label. ${wrongPackage}`,
    todo: ({ exact }) => `Compare it with the plate. If it is right, type exactly this: "${exact}"`,
    noOverride: true,
    source: practice,
  }),

  'label/letters-of-another-alphabet': define<{
    letters: string;
    candidates: readonly { readonly text: string; readonly families: readonly string[] }[];
  }>({
    severity: 'stop',
    title: 'the label holds letters of another alphabet',
    seen: ({ letters, candidates }, subject) =>
      `In "${subject}" ${letters}.${candidates.length === 0 ? '' : ` With Latin letters it would be ${candidates.map(({ text, families }) => `"${text}" (${families.join(', ')})`).join(' or ')}.`}`,
    why: `Nobody can see the difference, and every comparison fails by it. They come from a phone or a scanner that is set to that alphabet. ${wrongPackage}`,
    todo: 'Switch the keyboard to Latin letters and type the label again as it stands on the plate.',
    source: 'Unicode Standard, UTS #39 (confusables), for the pairs; common practice',
  }),

  'label/part-missing': define<{
    missing: readonly {
      readonly family: string;
      readonly part: string;
      readonly where: string | undefined;
      readonly example: string;
    }[];
  }>({
    severity: 'stop',
    title: 'a part of the label is missing',
    seen: ({ missing }, subject) =>
      `No family reads "${subject}". It would be a label with ${missing.map(({ family, part, example }) => `a ${part} as in "${example}" (${family})`).join(', or with ')}.`,
    why: wrongPackage,
    todo: ({ missing }) => {
      const places = missing.map(({ part, where }) => (where === undefined ? part : `${part}: ${where}`));
      return `Look at the plate on the panel again (${[...new Set(places)].join('; ')}) and type the whole label.`;
    },
    source: practice,
  }),

  'label/unreadable': define<{
    families: readonly { readonly title: string; readonly example: string }[];
    /** From where to where in the label no family can follow; undefined where none follows at all. */
    place: readonly [start: number, end: number] | undefined;
  }>({
    severity: 'stop',
    title: 'no family reads this label',
    seen: ({ families, place }, subject) =>
      `"${subject}" is not a label of ${families.map(({ title, example }) => (example === '' ? title : `${title} (such as ${example})`)).join(' or ')}.${place === undefined ? '' : ` It is read up to here:\n  ${subject}\n  ${' '.repeat(place[0])}${'^'.repeat(Math.max(1, place[1] - place[0]))}`}`,
    why: wrongPackage,
    todo: 'Read the plate on the back or the side of the panel again and type the model line whole; bezel and box do not count. If the panel is of another family, name its family file with --family.',
    source: practice,
  }),

  'label/entries-differ': define<{ first: string; second: string; at: number; lookAlike: boolean }>({
    severity: 'stop',
    title: 'two people read the label differently',
    seen: ({ first, second, at, lookAlike }) =>
      `The entries differ from character ${at + 1} on${lookAlike ? ', in characters that look alike' : ''}.\n  first   ${first}\n  second  ${second}\n          ${' '.repeat(at)}^`,
    why: wrongPackage,
    todo: 'Both read the plate again, best from a photograph with a light from the side, and enter it anew.',
    source: practice,
  }),

  'label/plate-none': define<NoFacts>({
    severity: 'stop',
    title: 'no model label in this text',
    seen: () => 'No line of the text reads as a label of a family.',
    why: wrongPackage,
    todo: "Give the model line as it stands on the panel's plate; rating, serial number and date are not it. If the panel is of another family, name its family file with --family.",
    source: practice,
  }),

  'label/plate-several': define<{ candidates: readonly { readonly text: string; readonly line: number }[] }>({
    severity: 'stop',
    title: 'several model labels in this text',
    seen: ({ candidates }) =>
      `The text holds more than one: ${candidates.map(({ text, line }) => `"${text}" (line ${line})`).join(', ')}.`,
    why: wrongPackage,
    todo: "Give the model line alone, as it stands on the panel's plate.",
    source: practice,
  }),

  'label/plate-confirm': define<{ text: string; line: number; whole: string }>({
    severity: 'caution',
    title: 'the model was picked out of a longer line',
    seen: ({ text, line, whole }) => `"${text}" was taken from line ${line}: "${whole}".`,
    why: 'What stands beside it may belong to the label, such as a factory code, and would change the package.',
    todo: 'Compare it with the plate. If something is missing, give the whole model line.',
    source: practice,
  }),
};
