import type { FileSystem, Partition, PartitionTable } from '../../model/stick-facts.ts';

/** Many of one kind: how many, and the first few by name. */
export interface Examples {
  readonly count: number;
  readonly paths: readonly string[];
}

/** Two names that lead to one place; paths begin with `/`, which alone is the root folder or a table of the volume. */
export interface SharedPlace {
  readonly first: string;
  readonly second: string;
  /** Both start at the same place and state the same length: one file or folder with two names. */
  readonly alike: boolean;
}

type NoDetail = Record<string, never>;

/** What can be wrong with a medium, and what is known of each. `medium/<kind>` is the finding's code. */
export interface FlawDetails {
  'unreadable-sectors': { readonly sectors: number; readonly firstSector: number };
  'nothing-recognised': NoDetail;
  'boot-byte-invalid': { readonly entry: number; readonly value: number };
  'partition-without-place': { readonly entry: number };
  'partition-past-end': { readonly entry: number; readonly endByte: number; readonly mediumBytes: number };
  'partitions-overlap': { readonly entry: number; readonly other: number };
  'partition-type-not-mounted': { readonly entry: number; readonly type: number };
  'partition-type-misleading': { readonly entry: number; readonly type: number; readonly fileSystem: FileSystem };
  'extended-partition': { readonly entry: number };
  'hybrid-table': NoDetail;
  'gpt-leftover': { readonly where: 'start' | 'end' | 'both' };
  'gpt-missing': NoDetail;
  'gpt-header-damaged': { readonly problem: string };
  'gpt-entries-damaged': NoDetail;
  'gpt-backup-damaged': { readonly problem: string };
  'gpt-entry-invalid': { readonly entry: number; readonly problem: string };
  'volume-past-partition': { readonly statedBytes: number; readonly bytes: number };
  'volume-smaller-than-partition': { readonly statedBytes: number; readonly bytes: number };
  'hidden-sectors-differ': { readonly stated: number; readonly actual: number };
  'boot-sector-damaged': { readonly problem: string };
  'type-text-missing': { readonly text: string; readonly at: number; readonly wanted: string };
  'media-byte-differs': { readonly stated: number; readonly table: number };
  'boot-jump-missing': NoDetail;
  'backup-boot-missing': { readonly problem: string };
  'backup-boot-differs': { readonly bytes: number };
  'fsinfo-missing': { readonly problem: string };
  'fsinfo-free-wrong': { readonly stated: number; readonly counted: number };
  'fsinfo-next-invalid': { readonly stated: number };
  'mirroring-off': { readonly active: number };
  dirty: NoDetail;
  'marked-in-table': NoDetail;
  'errors-recorded': NoDetail;
  'fat-start-wrong': NoDetail;
  'fat-copies-differ': { readonly entries: number };
  'fat-entries-invalid': { readonly count: number };
  'bad-clusters': { readonly count: number };
  'lost-clusters': { readonly clusters: number; readonly bytes: number };
  /** The paths are those that came second; the pairs are the same ones, and as many. */
  'cross-linked': Examples & { readonly pairs: readonly SharedPlace[] };
  'chain-loops': Examples;
  'chain-broken': Examples;
  'chain-short': Examples;
  'chain-long': Examples;
  'start-cluster-invalid': Examples;
  'way-damaged': Examples;
  'way-tables-differ': Examples;
  'way-slot-odd': Examples;
  'way-marked-free': Examples;
  'way-shared': Examples;
  'firmware-hidden': Examples;
  'root-damaged': { readonly problem: string };
  'folder-damaged': Examples;
  'folder-states-size': Examples;
  'name-invalid': Examples;
  'name-duplicate': Examples;
  'long-name-orphan': Examples;
  'slot-damaged': Examples;
  'slots-after-end': Examples;
  'names-after-end': Examples;
  'stale-slots': Examples;
  'several-labels': Examples;
  'labels-differ': { readonly bootSector: string; readonly root: string | undefined };
  'root-slots-few': { readonly free: number; readonly of: number };
  'exfat-boot-damaged': { readonly problem: string };
  'exfat-checksum-wrong': NoDetail;
  'exfat-backup-differs': { readonly problem: string };
  'exfat-media-failure': NoDetail;
  'exfat-root-damaged': { readonly problem: string };
  'exfat-upcase-damaged': { readonly problem: string };
  'exfat-entries-damaged': Examples;
  'used-marked-free': Examples;
  'exfat-percent-wrong': { readonly stated: number; readonly counted: number };
  'too-much-to-check': { readonly what: string };
}

export type FlawKind = keyof FlawDetails;

export type Flaw = {
  readonly [Kind in FlawKind]: { readonly kind: Kind; readonly detail: FlawDetails[Kind] };
}[FlawKind];

export function flaw<Kind extends FlawKind>(
  kind: Kind,
  ...detail: FlawDetails[Kind] extends NoDetail ? [] : [detail: FlawDetails[Kind]]
): Flaw {
  return { kind, detail: detail[0] ?? {} } as unknown as Flaw;
}

/** The kinds that come many at a time. */
export type ExampleKind = {
  [Kind in FlawKind]: FlawDetails[Kind] extends Examples ? Kind : never;
}[FlawKind];

/** Most paths that are kept of one kind. */
export const mostPaths = 12;
const mostCharacters = 200;
export const shortened = (path: string): string => path.slice(-mostCharacters);

/** Counts flaws that come many at a time, so that a hostile medium cannot fill the memory with them. */
export class FlawCounter {
  readonly #seen = new Map<ExampleKind, { count: number; readonly paths: string[] }>();

  add(kind: ExampleKind, path: string): void {
    const seen = this.#seen.get(kind) ?? { count: 0, paths: [] };
    seen.count++;
    if (seen.paths.length < mostPaths) seen.paths.push(shortened(path));
    this.#seen.set(kind, seen);
  }

  /** PAIRS are the names of `cross-linked`. */
  flaws(pairs: readonly SharedPlace[] = []): readonly Flaw[] {
    return [...this.#seen].map(([kind, { count, paths }]) => {
      const detail = kind === 'cross-linked' ? { count, paths, pairs } : { count, paths };
      return { kind, detail } as unknown as Flaw;
    });
  }
}

/** What the sectors of a medium say, and everything in them that is not as it should be. */
export interface MediumFacts {
  readonly mediumBytes: number;
  readonly table: PartitionTable;
  readonly partitions: readonly Partition[];
  readonly volumes: readonly VolumeFacts[];
  /** About the medium and its tables; those of a volume are with the volume. */
  readonly flaws: readonly Flaw[];
}

export interface VolumeFacts {
  /** Position in the table; undefined without one. */
  readonly partition: number | undefined;
  readonly startByte: number;
  /** Room that the table gives it. */
  readonly bytes: number;
  readonly fileSystem: FileSystem;
  readonly sectorBytes: number | undefined;
  readonly clusterBytes: number | undefined;
  readonly clusters: number | undefined;
  /** Counted, not what the volume says of itself; undefined where it was not looked into. */
  readonly freeClusters: number | undefined;
  readonly label: string | undefined;
  readonly serial: string | undefined;
  readonly files: number | undefined;
  readonly folders: number | undefined;
  /**
   * Of the paths that were asked about, those to which something leads that not every reader takes alike; and the
   * folders above that do.
   */
  readonly doubtful: readonly string[];
  /** Whether the volume was looked into: only the first FAT or exFAT volume is. */
  readonly audited: boolean;
  readonly flaws: readonly Flaw[];
}
