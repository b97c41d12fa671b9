import { checksumList } from '../../core/manifest/checksum-list.ts';
import { finderNote } from '../../core/manifest/finder-note.ts';
import { serialiseManifest } from '../../core/manifest/serialise-manifest.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { StickEntry } from '../../core/model/stick-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import {
  checksumsName,
  manifestName,
  noteName,
  parentOf,
  stagingFolder,
  toolFolder,
} from '../../core/plan/stick-names.ts';
import type { Digesting } from '../../io/digest/digest.ts';
import type { Volume } from '../../io/volume/volume.ts';
import { digestFile } from './digest-file.ts';

/**
 * Gives what lies in the staging folder its final names. A whole folder moves with one rename where nothing of that name
 * is there yet; otherwise what is in it moves. On the medium when it returns.
 */
export async function giveFinalNames(volume: Volume): Promise<void> {
  const entries = await volume.entries();
  const present = new Set(entries.map(({ path }) => path));
  const staged = entries.filter(({ path }) => parentOf(path) === stagingFolder);
  for (const entry of staged) await moveIntoPlace(volume, entry, entries, present);
  await volume.flush();
}

async function moveIntoPlace(
  volume: Volume,
  entry: StickEntry,
  entries: readonly StickEntry[],
  present: ReadonlySet<string>,
): Promise<void> {
  const final = entry.path.slice(stagingFolder.length + 1);
  if (entry.kind === 'file' || !present.has(final)) {
    await volume.rename(entry.path, final);
    return;
  }
  const inside = entries.filter(({ path }) => parentOf(path) === entry.path);
  for (const child of inside) await moveIntoPlace(volume, child, entries, present);
  await volume.removeFolder(entry.path);
}

/**
 * Writes manifest, checksum list and note into the empty staging folder, reads them back, and renames that folder: the
 * last write, and the one that makes the stick say what it is. Throws ToolError `stick/read-failed` where they
 * do not come back as written.
 */
export async function publishRecord(volume: Volume, manifest: Manifest, digesting: Digesting): Promise<void> {
  const texts: readonly (readonly [string, string])[] = [
    [checksumsName, checksumList(manifest.files)],
    [noteName, finderNote(manifest)],
    [manifestName, serialiseManifest(manifest)],
  ];
  for (const [name, text] of texts) await writeText(volume, `${stagingFolder}/${name}`, text);
  await volume.flush();
  for (const [name, text] of texts) {
    const path = `${stagingFolder}/${name}`;
    const { sha256 } = await digestFile(volume, path, { digesting });
    if (sha256 !== digesting.sha256(text)) {
      throw new ToolError(
        'stick/read-failed',
        path,
        'The stick gives back something else than was written.',
        'Try another port without a hub. If it happens again, retire the stick.',
      );
    }
  }
  await volume.rename(stagingFolder, toolFolder);
  await volume.flush();
}

async function writeText(volume: Volume, path: string, text: string): Promise<void> {
  const bytes = new TextEncoder().encode(text);
  const writer = await volume.create(path, bytes.byteLength);
  try {
    await writer.write(bytes);
  } finally {
    await writer.close();
  }
}
