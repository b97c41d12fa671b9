import type { WantedTree } from '../contents/wanted-tree.ts';
import { parentOf } from '../manifest/stick-names.ts';
import type { PlanItem } from '../model/layout-plan.ts';
import type { StickEntry, StickFacts } from '../model/stick-facts.ts';
import { groupBy } from '../text/words.ts';
import { clustersFor } from '../volume-format/fat-geometry.ts';
import { folderClustersFor } from '../volume-format/fat-name.ts';

/** Room for the manifest, the list and the note: about 150 bytes a file and line, doubled, and the fixed parts. */
const recordBytes = (files: number): number => 8192 + files * 600;

/**
 * Free bytes when the plan is done, counted in whole clusters; negative where it does not fit. Where the cluster size
 * is not known, 32 KiB is taken, the usual size on sticks of up to 32 GB: rather too few bytes promised than too many.
 */
export function freeBytesAfter(stick: StickFacts, items: readonly PlanItem[], entries: readonly StickEntry[]): number {
  const clusterBytes = stick.clusterBytes ?? 32_768;
  const files = items.filter(({ action }) => action === 'write' || action === 'keep').length;
  const names = namesByFolder(items);
  const held = new Map(entries.map(({ path, heldBytes }) => [path, heldBytes ?? 0]));
  let clusters = 0;
  for (const item of items) {
    switch (item.action) {
      case 'write':
        clusters += clustersFor(item.bytes, clusterBytes);
        break;
      case 'make-folder':
        clusters += folderClustersFor(names.get(item.path) ?? [], clusterBytes);
        break;
      case 'remove':
      case 'withdraw':
        clusters -= item.kind === 'folder' ? 1 : clustersFor(item.bytes, clusterBytes);
        clusters -= (held.get(item.path) ?? 0) / clusterBytes;
        break;
      case 'record':
        clusters += clustersFor(recordBytes(files), clusterBytes) + 6; // three or four files and their folder
        break;
      case 'set-aside':
      case 'keep':
        break;
    }
  }
  return stick.freeBytes - clusters * clusterBytes;
}

/** The names that the plan puts into each folder. */
function namesByFolder(items: readonly PlanItem[]): ReadonlyMap<string, readonly string[]> {
  const paths = items.map((item) => (item.action === 'set-aside' ? item.to : item.path));
  const names = new Map<string, string[]>();
  for (const [folder, inside] of groupBy(paths, parentOf)) {
    names.set(
      folder,
      inside.map((path) => path.slice(folder.length + 1)),
    );
  }
  return names;
}

/** The largest cluster that any size of FAT32 takes by the published table. */
const clusterBytes = 32_768;
const mebibyte = 2 ** 20;
/** FAT32 needs 65,525 clusters; at 512 bytes that is 32 MiB, and tables, partition and record come on top. */
const smallestBytes = 64 * mebibyte;

/**
 * A size for an image that holds TREE with its record and a little room, in whole MiB: rather too large than too small.
 */
export function imageBytesFor({ files, folders }: WantedTree): number {
  const fileClusters = files.reduce((sum, { bytes }) => sum + clustersFor(bytes, clusterBytes), 0);
  const recordClusters = clustersFor(files.length * 600, clusterBytes);
  const bytes = (fileClusters + folders.length + recordClusters) * clusterBytes;
  return Math.max(smallestBytes, Math.ceil((bytes * 1.02) / mebibyte + 8) * mebibyte);
}
