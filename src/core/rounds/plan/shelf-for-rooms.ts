import { checkLabel } from '../../checks/fit/check-label.ts';
import { type Finding, finding, severityOf } from '../../findings/finding.ts';
import { findNearMisses, findPackages, indexPackages } from '../../label/find-packages.ts';
import { readLabel, readPackageName } from '../../label/read-label.ts';
import type { Family } from '../../model/family.ts';
import type { LabelReading, PackageReading } from '../../model/panel-identity.ts';
import { checkChosen } from '../../shelf/check-chosen.ts';
import { checkListing, type DamagedEntry } from '../../shelf/check-newcomer.ts';
import { indexShelf, newestFor, type ReadPackage, type ShelfIndex, withoutDoubles } from '../../shelf/index-shelf.ts';
import { familyNameOf } from '../../shelf/select-packages.ts';
import type { ShelvedPackage } from '../../shelf/shelf-record.ts';
import { groupBy } from '../../text/words.ts';

/** What families and shelf say of one label, the same for every room that has it. */
export interface LabelAnswer {
  readonly label: LabelReading;
  readonly panel: LabelReading['readings'][number] | undefined;
  /** Packages for exactly this label. */
  readonly fitting: readonly ReadPackage[];
  /** The one to go to; undefined where there is none, or none that is clearly the newest. */
  readonly newest: ReadPackage | undefined;
  /** What must be said of label and shelf; no notes. */
  readonly findings: readonly Finding[];
}

/** A shelf made ready for a whole list of rooms: everything is read once, and every label once. */
export interface ShelfForRooms {
  readonly answerFor: (label: string) => LabelAnswer;
  /** What a person should know of a package before a stick is made from it. */
  readonly saysOf: (one: ReadPackage) => readonly Finding[];
}

export function shelfForRooms(
  shelved: readonly ShelvedPackage[],
  damaged: readonly DamagedEntry[],
  families: readonly Family[],
): ShelfForRooms {
  const packages = withoutDoubles(shelved);
  const shelf = indexShelf(packages, families);
  const damage = indexDamage(damaged, families);
  const kin = groupBy(packages, ({ record }) => familyNameOf(record, families));
  const kinOf = ({ shelved: { record } }: ReadPackage) => kin.get(familyNameOf(record, families)) ?? [];
  return {
    answerFor: remembering((text) => answerLabel(text, { shelf, damage, families })),
    saysOf: remembering((one) => checkChosen(one.shelved, kinOf(one), families)),
  };
}

function remembering<Key, Answer>(work: (key: Key) => Answer): (key: Key) => Answer {
  const known = new Map<Key, Answer>();
  return (key) => {
    if (!known.has(key)) known.set(key, work(key));
    return known.get(key) as Answer;
  };
}

/** Entries whose record cannot be used, found by the names of the files in them. */
type Damage = (label: LabelReading) => readonly DamagedEntry[];

function indexDamage(damaged: readonly DamagedEntry[], families: readonly Family[]): Damage {
  const entryOf = new Map<PackageReading, DamagedEntry>();
  for (const entry of damaged) for (const name of entry.files) entryOf.set(readPackageName(name, families), entry);
  const index = indexPackages([...entryOf.keys()]);
  return (label) => findPackages(label, index).flatMap((one) => entryOf.get(one) ?? []);
}

interface Known {
  readonly shelf: ShelfIndex;
  readonly damage: Damage;
  readonly families: readonly Family[];
}

function answerLabel(text: string, { shelf, damage, families }: Known): LabelAnswer {
  const label = readLabel(text, families);
  const said = checkLabel(label, families).filter((found) => severityOf(found) !== 'note');
  const [panel, ...others] = label.readings;
  if (panel === undefined || others.length > 0) {
    return { label, panel: undefined, fitting: [], newest: undefined, findings: said };
  }
  const { fitting, newest } = newestFor(label, shelf);
  const listed = checkListing(
    fitting.map(({ shelved }) => shelved),
    damage(label),
  );
  const known = { label, panel, fitting };
  const [best] = newest;
  if (best === undefined) {
    const open = [noneFits(label, shelf, panel.family), ...looksAlike(label, shelf)];
    return { ...known, newest: undefined, findings: [...said, ...listed, ...open] };
  }
  // The same file under two names is one.
  const contents = new Set(newest.map(({ shelved }) => shelved.record.sha256));
  if (contents.size === 1) return { ...known, newest: best, findings: [...said, ...listed] };
  const names = newest.map(({ shelved }) => shelved.record.name);
  const unclear = finding('shelf/newest-unclear', label.normalised, { label: label.normalised, names });
  return { ...known, newest: undefined, findings: [...said, ...listed, unclear] };
}

function noneFits(label: LabelReading, { index, byReading }: ShelfIndex, family: Family): Finding {
  const ofFamily = index.packages.filter(({ readings }) =>
    readings.some((reading) => reading.family.family === family.family),
  ).length;
  const facts = { label: label.normalised, ofFamily, total: byReading.size, family: family.title };
  return finding('shelf/none-fits', label.normalised, facts);
}

/** A package that would fit if look-alike characters of the label were read the other way. */
function looksAlike(label: LabelReading, { index }: ShelfIndex): readonly Finding[] {
  const alike = findNearMisses(label, index).find(
    ({ fit: { parts } }) =>
      parts.length > 0 && parts.every(({ relation }) => relation === 'equal' || relation === 'misread'),
  );
  if (alike === undefined) return [];
  const parts = alike.fit.parts
    .filter(({ relation }) => relation === 'misread')
    .map(({ part, label: one = '', other = '' }) => ({ part, label: one, other }));
  const facts = { label: label.normalised, name: alike.package.fileName, parts };
  return [finding('round/looks-alike', label.normalised, facts)];
}
