import type { ManifestFile } from '../model/manifest.ts';

/**
 * The list that `sha256sum -c` reads from the root of the stick: lower hex, two spaces, `/`, LF, sorted as the manifest
 * is. A name with a backslash or a line break is escaped the way GNU coreutils does it (manual, "md5sum invocation");
 * FAT and exFAT hold neither, other volumes may.
 */
export function checksumList(files: readonly ManifestFile[]): string {
  return files.map(({ path, sha256 }) => `${lineOf(path, sha256)}\n`).join('');
}

function lineOf(path: string, sha256: string): string {
  const escaped = path.replaceAll('\\', '\\\\').replaceAll('\n', '\\n').replaceAll('\r', '\\r');
  return `${escaped === path ? '' : '\\'}${sha256}  ${escaped}`;
}
