import type { Version } from '../model/build.ts';
import { toNumeral } from './numeral.ts';

/** V1.02.03, 3.10, 2.0.0-rc.1+5: numbers as makers write them, then what SemVer 2.0.0 sections 9 and 10 allow. */
const shape = /^v?(\d+(?:\.\d+){0,5})(?:-([0-9a-z-]+(?:\.[0-9a-z-]+)*))?(?:\+([0-9a-z-]+(?:\.[0-9a-z-]+)*))?$/i;

/** Reads a version; undefined where it is none. Leading zeros and a `V` are as makers write them and do not count. */
export function readVersion(text: string): Version | undefined {
  const [, numbers, preRelease, metadata = ''] = shape.exec(text) ?? [];
  if (numbers === undefined) return undefined;
  return { numbers: numbers.split('.').map(toNumeral), preRelease: preRelease?.split('.') ?? [], metadata };
}
