import { posix } from 'node:path';
import type { Parts } from './open-parts.ts';
import { readXml } from './read-xml.ts';

export interface Relationship {
  readonly id: string;
  /** The last word of its type: `worksheet`, `sharedStrings`, `styles`, `officeDocument`. */
  readonly type: string;
  /** Path of the part in the workbook. */
  readonly target: string;
}

/** What a part refers to (ECMA-376 part 2, 6.5); the empty name stands for the package itself. */
export async function readRelationships(parts: Parts, part: string): Promise<readonly Relationship[]> {
  const folder = posix.dirname(part);
  const name = posix.join(folder, '_rels', `${posix.basename(part)}.rels`);
  const pieces = parts.open(name);
  if (pieces === undefined) return [];
  const found: Relationship[] = [];
  await readXml(name, pieces, {
    open: (local, { Id = '', Type = '', Target = '', TargetMode }) => {
      if (local !== 'Relationship' || TargetMode === 'External') return;
      const target = Target.startsWith('/') ? Target.slice(1) : posix.join(folder, Target);
      found.push({ id: Id, type: Type.slice(Type.lastIndexOf('/') + 1), target });
    },
  });
  return found;
}
