import type { Manifest, ManifestFile } from '../model/manifest.ts';
import { checksumsName, noteName, toolFolder } from '../plan/stick-names.ts';
import type { Sha256 } from '../sealed/sealed-document.ts';
import type { DescribedStick } from './build-manifest.ts';
import { checksumList } from './checksum-list.ts';
import { finderNote } from './finder-note.ts';

/** What lies beside the manifest: each made when it is asked for, for those of thousands of files are long. */
export const recordTexts = (
  described: Pick<DescribedStick, 'files'> & Parameters<typeof finderNote>[0],
): readonly (readonly [name: string, text: () => string])[] => [
  [checksumsName, () => checksumList(described.files)],
  [noteName, () => finderNote(described)],
];

/** List and note as the manifest names them. */
export const recordFiles = (described: DescribedStick, sha256: Sha256): readonly ManifestFile[] =>
  recordTexts(described).map(([name, textOf]) => fileOf(name, textOf(), sha256));

/** What must lie beside this manifest. Version 1 does not say it, but its list follows from its files. */
export const recordNamedBy = (manifest: Manifest, sha256: Sha256): readonly ManifestFile[] =>
  manifest.schema === 'stickwright/manifest/2'
    ? manifest.record
    : [fileOf(checksumsName, checksumList(manifest.files), sha256)];

const fileOf = (name: string, text: string, sha256: Sha256): ManifestFile => ({
  path: `${toolFolder}/${name}`,
  bytes: new TextEncoder().encode(text).byteLength,
  sha256: sha256(text),
});
