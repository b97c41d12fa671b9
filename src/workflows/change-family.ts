import type { FamilyFile } from '../core/checks/fit/check-families.ts';
import { whyNotConfirming } from '../core/checks/fit/check-origin.ts';
import { type WideningPlace, widenForLabel, widenForPackage } from '../core/checks/fit/find-widening.ts';
import type { Finding, Verdict } from '../core/findings/finding.ts';
import { quoted } from '../core/label/propose-family.ts';
import { readLabel, readPackageName } from '../core/label/read-label.ts';
import type { Family } from '../core/model/family.ts';
import { checkNewFamily } from './read-panel-label.ts';

/** Family files that are there already, and are changed in one place. */
export interface FamilyFiles {
  /** The text of the file at this path. */
  readonly textOf: (source: string) => Promise<string>;
  /** TEXT with another value at PATH, all else as it stands; undefined where nothing stands there. */
  readonly withValueAt: (text: string, path: readonly (string | number)[], value: string) => string | undefined;
  /** How a file of this path and text would be read. */
  readonly read: (source: string, text: string) => FamilyFile;
  /** Puts the text in the place of the file, whole or not at all. */
  readonly change: (source: string, text: string) => Promise<void>;
}

/** A file as it would be, judged like a new one: every example must read as it says. */
export interface FamilyChange {
  readonly source: string;
  readonly text: string;
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly families: readonly Family[];
}

/** Why nothing can be changed, and what to do about it. */
export interface NoChange {
  readonly because: string;
  readonly todo: string;
}

/**
 * What lets a family file take the number of digits that TEXT shows: a label, or a package by its name or path. WHICH:
 * the short name of the one that is meant, where several would take it.
 */
export async function proposeWidening(
  text: string,
  families: readonly Family[],
  files: FamilyFiles,
  which?: string,
): Promise<(FamilyChange & { readonly place: WideningPlace }) | NoChange> {
  const meant = families.filter(({ family }) => which === undefined || family === which);
  const places = [...widenForLabel(text, meant), ...widenForPackage(fileNameOf(text), meant)];
  const [place, ...others] = places;
  if (place === undefined) return notWidened(text, families);
  if (others.length > 0)
    return {
      because: `Several families would take "${text}": ${places.map((one) => one.family.title).join(', ')}.`,
      todo: `Name the file of one: --family ${place.family.source}.`,
    };
  const next = await changed(place.family, place.path, quoted(place.pattern), families, files);
  return 'because' in next ? next : { ...next, place };
}

const fileNameOf = (path: string): string => path.split(/[\\/]/).at(-1) ?? path;

function notWidened(text: string, families: readonly Family[]): NoChange {
  const [known] = [...readLabel(text, families).readings, ...readPackageName(fileNameOf(text), families).readings];
  return known === undefined
    ? {
        because: `"${text}" differs from every family file by more than a number of digits.`,
        todo: 'Read it again letter by letter (stickwright label says what is likely); if it is right, it takes another pattern, or a family of its own: stickwright family new.',
      }
    : { because: `${known.family.title} read "${text}" already.`, todo: 'Nothing needs to be widened.' };
}

/** A label and its package that are known to belong together, and from where. */
export interface ConfirmingPair {
  readonly label: string;
  readonly package: string;
  readonly from: string;
}

/** What notes PAIR in the family of that NAME, which was made from what lay on a table. */
export async function proposeConfirmation(
  name: string,
  pair: ConfirmingPair,
  families: readonly Family[],
  files: FamilyFiles,
): Promise<FamilyChange | NoChange> {
  const found = families.find(({ family }) => family === name);
  if (found === undefined)
    return { because: `There is no family ${name}.`, todo: 'See them all: stickwright family list' };
  const made = found['made-from'];
  if (made === undefined)
    return {
      because: `${found.title} need no confirmation.`,
      todo: 'They were not made from what lay on a table.',
    };
  const why = whyNotConfirming(pair, found);
  if (why !== undefined)
    return {
      because: `That confirms nothing. ${why}`,
      todo: 'Give a label and a package that are known to belong together from elsewhere.',
    };
  const said = [...made.confirmed, pair].map(
    (one) => `{ label: ${quoted(one.label)}, package: ${quoted(one.package)}, from: ${quoted(one.from)} }`,
  );
  return await changed(found, ['made-from', 'confirmed'], `[${said.join(', ')}]`, families, files);
}

async function changed(
  { source, family: name }: Family,
  path: WideningPlace['path'],
  value: string,
  families: readonly Family[],
  files: FamilyFiles,
): Promise<FamilyChange | NoChange> {
  const text = files.withValueAt(await files.textOf(source), path, value);
  if (text === undefined)
    return { because: `${source} has no ${path.join('.')}.`, todo: 'Write it there in an editor.' };
  const file = files.read(source, text);
  const beside = families
    .filter(({ family }) => family !== name)
    .map((family) => ({
      source: family.source,
      content: { state: 'read' as const, family, placeOf: () => ({ line: 1, column: 1 }) },
    }));
  const { verdict, findings } = checkNewFamily(name, file, beside);
  return { source, text, verdict, findings, families: file.content.state === 'read' ? [file.content.family] : [] };
}
