import { groupBy } from '../model/group-by.ts';
import type { PlanItem } from '../model/layout-plan.ts';
import type { StickEntry, StickFacts } from '../model/stick-facts.ts';
import { clustersFor } from '../volume-format/clusters-for.ts';
import { folderClustersFor } from '../volume-format/fat-name.ts';
import { parentOf } from './stick-names.ts';

/** Room for the manifest, the list and the note: about 150 bytes a file and line, doubled, and the fixed parts. */
const recordBytes = (files: number): number => 8192 + files * 600;

/**
 * Free bytes when the plan is done, counted in whole clusters; negative where it does not fit. Where the cluster size
 * is not known, 32 KiB is taken, the usual size on sticks of up to 32 GB: rather too few bytes promised than too many.
 */
export function freeBytesAfter(
  stick: StickFacts,
  items: readonly PlanItem[],
  entries: readonly StickEntry[] = [],
): number {
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
