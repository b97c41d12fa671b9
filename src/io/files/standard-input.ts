import { createWriteStream, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { ToolError } from '../../core/model/tool-error.ts';

/** What stands for standard input wherever a file is read. A file of that name is `./-`. */
const standardInput = '-';

let taken = false;

/**
 * A path to read from: as it was named, or of a file that holds what came on standard input, until this process ends.
 * Throws `file/unreadable` where it was read already.
 */
export async function fileFrom(named: string): Promise<string> {
  if (named !== standardInput) return named;
  if (taken) {
    const todo = 'Give the other file by its path.';
    throw new ToolError('file/unreadable', named, 'Standard input can be read once only.', todo);
  }
  taken = true;
  const folder = mkdtempSync(join(tmpdir(), 'stickwright-'));
  process.once('exit', () => rmSync(folder, { recursive: true, force: true }));
  const path = join(folder, 'standard-input');
  await pipeline(process.stdin, createWriteStream(path, { flags: 'wx', mode: 0o600 }));
  return path;
}

/** A package's name says for which panel it is, and standard input has none. */
export function expectNamedFile(named: string): string {
  if (named !== standardInput) return named;
  throw new ToolError(
    'file/unreadable',
    named,
    'A package cannot come on standard input: its name says for which panels it is made.',
    'Save it under the name that it has on the support page, and give its path.',
  );
}
