import { existsSync } from 'node:fs';
import fastGlob from 'fast-glob';

/**
 * Replaces names with wildcards by the files they stand for, since cmd and PowerShell hand them on as they are. A name
 * that exists is taken as it is, also where it holds a bracket; one that matches nothing stays, so that it is reported
 * as missing.
 */
export async function expandPatterns(names: readonly string[]): Promise<readonly string[]> {
  const expanded = await Promise.all(names.map(expand));
  return expanded.flat();
}

async function expand(name: string): Promise<readonly string[]> {
  const pattern = process.platform === 'win32' ? name.replaceAll('\\', '/') : name;
  if (existsSync(name) || !fastGlob.isDynamicPattern(pattern)) return [name];
  const found = await fastGlob(pattern, { dot: true, followSymbolicLinks: false, onlyFiles: true });
  return found.length > 0 ? found.toSorted() : [name];
}
