import { type Finding, finding } from '../findings/finding.ts';
import { checkOpen } from './check-chosen.ts';
import { checkListing, type DamagedEntry } from './check-newcomer.ts';
import type { ShelvedPackage } from './shelf-record.ts';

/**
 * All that is said of a shelf itself and of what was done with it. What speaks for or against one package is in
 * `check-newcomer` and `check-chosen`.
 */
export const checkMade = (place: string, made: boolean): readonly Finding[] =>
  made ? [finding('shelf/made', place)] : [];

/** What became of a package that was read again. `gone`: another desk removed it since it was listed. */
export type Reread =
  | { readonly state: 'read'; readonly sha256: string; readonly bytes: number }
  | { readonly state: 'unreadable'; readonly problem: string }
  | { readonly state: 'missing' }
  | { readonly state: 'gone' };

/** What does not belong on a shelf. */
export interface Leftovers {
  /** Files that are not named by the layout; those in a package's folder come with its id, the package among them. */
  readonly strangers: readonly { readonly name: string; readonly where: string; readonly id: string | undefined }[];
  /** RFC 3339 by the shelf's own clock. */
  readonly unfinished: readonly { readonly name: string; readonly bytes: number; readonly since: string }[];
}

/** A shelf whose packages were read again, all or those that a person named. */
export interface ShelfFacts {
  readonly place: string;
  readonly packages: readonly ShelvedPackage[];
  readonly damaged: readonly DamagedEntry[];
  /** What the person's words do not stand for. */
  readonly unknown: readonly Finding[];
  readonly reread: readonly { readonly shelved: ShelvedPackage; readonly content: Reread }[];
  /** undefined where nobody asked for more than single packages. */
  readonly leftovers: Leftovers | undefined;
}

export function checkShelfFacts(facts: ShelfFacts): readonly Finding[] {
  const { place, packages, damaged, unknown, reread, leftovers } = facts;
  return [
    ...checkListing(packages, damaged),
    ...unknown,
    ...reread.flatMap(({ shelved, content }) => checkReread(shelved, content)),
    ...reread.flatMap(({ shelved }) => checkOpen(shelved.record)),
    ...(leftovers === undefined ? [] : checkLeftovers(packages, leftovers)),
    ...checkSound(place, reread),
  ];
}

function checkReread({ id, record }: ShelvedPackage, content: Reread): readonly Finding[] {
  switch (content.state) {
    case 'read': {
      if (content.sha256 === record.sha256) return [];
      const facts = { expected: record.sha256, got: content.sha256, bytes: record.bytes, gotBytes: content.bytes };
      return [finding('shelf/content-changed', record.name, facts)];
    }
    case 'unreadable':
      return [finding('shelf/content-unreadable', record.name, { problem: content.problem })];
    case 'missing':
      return [finding('shelf/content-missing', record.name, { id })];
    case 'gone':
      return [];
  }
}

function checkLeftovers(packages: readonly ShelvedPackage[], { strangers, unfinished }: Leftovers): readonly Finding[] {
  const nameOf = new Map(packages.map(({ id, record }) => [id, record.name]));
  // Of a folder whose record is damaged that is said already.
  const foreign = strangers.filter(({ id, name }) => id === undefined || (nameOf.has(id) && nameOf.get(id) !== name));
  return [
    ...foreign.map(({ name, where }) => finding('shelf/stranger', name, { where })),
    ...unfinished.map(({ name, bytes, since }) => finding('shelf/unfinished', name, { bytes, since })),
  ];
}

/** Of a package that went while the others were read nothing is known. */
function checkSound(place: string, reread: ShelfFacts['reread']): readonly Finding[] {
  const sound = reread.filter(
    ({ shelved: { record }, content }) => content.state === 'read' && content.sha256 === record.sha256,
  );
  const bytes = sound.reduce((sum, { shelved: { record } }) => sum + record.bytes, 0);
  return sound.length === 0 ? [] : [finding('shelf/sound', place, { packages: sound.length, bytes })];
}

/** What became of a sound package that was to be added. */
export type Placed =
  | { readonly state: 'added'; readonly sha256: string }
  | { readonly state: 'restored' }
  | { readonly state: 'proven'; readonly addedAt: string; readonly codes: readonly string[] };

export function checkPlaced(name: string, placed: Placed): Finding {
  switch (placed.state) {
    case 'added':
      return finding('shelf/added', name, { sha256: placed.sha256 });
    case 'restored':
      return finding('shelf/restored', name);
    case 'proven':
      return finding('shelf/proven-now', name, { addedAt: placed.addedAt, codes: placed.codes });
  }
}

export const checkRemoved = (removed: readonly ShelvedPackage[]): readonly Finding[] =>
  removed.map(({ record: { name, sha256 } }) => finding('shelf/removed', name, { sha256 }));

/** What became of a package that was to be copied out of the shelf. */
export interface ExportResult {
  readonly to: string;
  /** `there`: the same file was there already. `taken`: another file has the name; it was left alone. */
  readonly state: 'copied' | 'there' | 'taken';
}

export function checkExported({ record }: ShelvedPackage, { state, to }: ExportResult): Finding {
  switch (state) {
    case 'copied':
      return finding('shelf/exported', record.name, { to, bytes: record.bytes });
    case 'there':
      return finding('shelf/export-there', record.name, { to });
    case 'taken':
      return finding('shelf/export-name-taken', record.name, { to });
  }
}
