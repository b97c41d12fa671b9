import type { FatGeometry } from '../fat-geometry.ts';
import { bootSectorLabel, bootSectorSerial } from '../fat-root.ts';
import { activeFatCopy, auditFatBoot, auditFsInfo } from './audit-fat-boot.ts';
import { auditWays, type WaysAsked } from './audit-ways.ts';
import { FatTable } from './fat-table.ts';
import { type Flaw, flaw } from './flaw.ts';
import type { VolumeFacts } from './medium-facts.ts';
import { type FatScan, scanFat } from './scan-fat.ts';
import { readAt, type SectorReader } from './sector-reader.ts';
import { type FolderWalk, FolderWalker } from './walk-folders.ts';

export type FatAudit = Pick<
  VolumeFacts,
  'freeClusters' | 'label' | 'serial' | 'files' | 'folders' | 'doubtful' | 'flaws'
>;

/** Fewer free slots than this in a fixed root folder do not take a firmware with long names (common practice, no source). */
const fewSlots = 24;

/**
 * All of a FAT volume but its files' content: table, folders, chains, and what leads to the files ASKED for more strictly than the rest.
 * READER starts at the volume, which starts at START on the medium.
 */
export function auditFat(reader: SectorReader, geometry: FatGeometry, startByte: number, asked?: WaysAsked): FatAudit {
  const boot = readAt(reader, 0, 512);
  const isFat32 = geometry.kind === 'fat32';
  const active = activeFatCopy(boot, geometry);
  const scan = scanFat(reader, geometry, active);
  const ways = asked && auditWays(reader, geometry, asked);
  const walk = new FolderWalker(reader, geometry, new FatTable(reader, geometry, active), ways).walk();
  const label = bootSectorLabel(boot, isFat32);
  return {
    freeClusters: scan.freeClusters,
    label: walk.rootLabel ?? label,
    serial: bootSectorSerial(boot, isFat32),
    files: walk.files,
    folders: walk.folders,
    doubtful: ways?.doubtful ?? [],
    flaws: [
      ...auditFatBoot(reader, boot, geometry, startByte),
      ...auditFsInfo(reader, boot, geometry, scan.freeClusters),
      ...auditTables(scan, walk, geometry),
      ...merged(walk.flaws, ways?.flaws ?? []),
      ...auditRoot(walk, geometry, label),
    ],
  };
}

/** The walk over all folders and the one along the ways may meet the same damage: it is told once. */
function merged(all: readonly Flaw[], ways: readonly Flaw[]): readonly Flaw[] {
  const met = new Set(ways.map(({ kind }) => kind));
  return [...all.filter(({ kind }) => kind !== 'way-damaged' || !met.has(kind)), ...ways];
}

function auditTables(scan: FatScan, walk: FolderWalk, { clusterBytes }: FatGeometry): readonly Flaw[] {
  const found: Flaw[] = [];
  if (scan.differingEntries > 0) found.push(flaw('fat-copies-differ', { entries: scan.differingEntries }));
  if (scan.invalidEntries > 0) found.push(flaw('fat-entries-invalid', { count: scan.invalidEntries }));
  if (scan.badClusters > 0) found.push(flaw('bad-clusters', { count: scan.badClusters }));
  const lost = walk.complete ? scan.used.countWithout(walk.reached) : 0;
  if (lost > 0) found.push(flaw('lost-clusters', { clusters: lost, bytes: lost * clusterBytes }));
  return found;
}

function auditRoot(walk: FolderWalk, geometry: FatGeometry, bootLabel: string | undefined): readonly Flaw[] {
  const found: Flaw[] = [];
  if (walk.rootSlotsFree !== undefined && walk.rootSlotsFree < fewSlots)
    found.push(flaw('root-slots-few', { free: walk.rootSlotsFree, of: geometry.rootSlots }));
  if (bootLabel !== undefined && bootLabel !== walk.rootLabel)
    found.push(flaw('labels-differ', { bootSector: bootLabel, root: walk.rootLabel }));
  return found;
}
