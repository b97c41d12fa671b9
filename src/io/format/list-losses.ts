import { readdir } from 'node:fs/promises';
import type { Losses, MediumPlace } from '../../core/report/medium-reports.ts';
import { auditMediumAt } from '../medium/audit-medium-at.ts';
import { openVolume } from '../volume/open-volume.ts';

/** What is on a medium before it is erased, as far as it can be read; a medium that cannot be read says so by `readable`. */
export async function listLosses({ kind, path, target, drive }: MediumPlace): Promise<Losses> {
  if (kind === 'new-image') return { readable: true, volumes: [], files: 0, names: [] };
  const facts = await auditMediumAt(path).catch(() => undefined);
  const listed = await listNames(target);
  const volumes = (facts?.volumes ?? []).map((volume) => ({
    fileSystem: volume.fileSystem,
    label: volume.label,
    bytes: volume.bytes,
    usedBytes:
      volume.clusters !== undefined && volume.freeClusters !== undefined && volume.clusterBytes !== undefined
        ? (volume.clusters - volume.freeClusters) * volume.clusterBytes
        : undefined,
  }));
  const mounted = await namesAt((drive?.volumes ?? []).flatMap((volume) => volume.mountPoints));
  const files = listed?.files ?? facts?.volumes.find((volume) => volume.files !== undefined)?.files;
  return { readable: facts !== undefined, volumes, files, names: [...new Set([...(listed?.names ?? []), ...mounted])] };
}

/** Names at the root of the first FAT volume. */
async function listNames(target: string): Promise<{ files: number; names: readonly string[] } | undefined> {
  try {
    const volume = await openVolume(target, 'read');
    try {
      const entries = await volume.entries();
      const names = entries
        .filter((entry) => !entry.path.includes('/'))
        .map(({ path, kind }) => (kind === 'folder' ? `${path}/` : path));
      return { files: entries.filter((entry) => entry.kind === 'file').length, names };
    } finally {
      await volume.close();
    }
  } catch {
    return undefined; // not FAT, or damaged: the volumes are named all the same
  }
}

async function namesAt(folders: readonly string[]): Promise<readonly string[]> {
  const lists = await Promise.all(folders.map((folder) => readdir(folder).catch(() => [])));
  return lists.flat();
}
