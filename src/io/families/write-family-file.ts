import { join } from 'node:path';
import * as z from 'zod';
import { familySchema } from '../../core/model/family.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { makeFolders, writeDurably } from '../files/durable-files.ts';
import { syncFolder } from '../files/sync-paths.ts';

/** Writes a new family file, never over another, and beside it the schema that editors complete with. */
export async function writeFamilyFile(folder: string, family: string, text: string): Promise<string> {
  const path = join(folder, `${family}.yaml`);
  try {
    await makeFolders(folder);
    await writeDurably(path, text);
  } catch (cause) {
    throw toError(path, cause as NodeJS.ErrnoException);
  }
  const schema = { ...z.toJSONSchema(familySchema, { io: 'input' }), title: 'stickwright panel family' };
  // A schema that is there already may be a newer one; without any, editors only complete less.
  await writeDurably(join(folder, 'family.schema.json'), `${JSON.stringify(schema, null, 2)}\n`).catch(() => {});
  await syncFolder(folder);
  return path;
}

function toError(path: string, cause: NodeJS.ErrnoException): unknown {
  if (cause.code === 'EEXIST') {
    const todo = 'Give the family another short name, or change that file in an editor.';
    return new ToolError('family/unreadable', path, `${path} is already there; it was left as it is.`, todo, cause);
  }
  if (cause.code === undefined) return cause;
  const todo = 'Name another folder with --to.';
  return new ToolError('file/not-permitted', path, `${path} cannot be written (${cause.code}).`, todo, cause);
}
