import { createHash } from 'node:crypto';
import { lstat, mkdir, open, realpath } from 'node:fs/promises';
import { dirname, join, resolve, sep } from 'node:path';
import envPaths from 'env-paths';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import type { KeptLeft } from '../../core/report/medium-reports.ts';
import { readWhole } from './copy-file.ts';
import { makeFolders, moveInto } from './durable-files.ts';

interface FileToKeep {
  readonly path: string;
  readonly bytes: number;
  readonly read: () => Promise<AsyncIterable<Uint8Array>>;
}

/**
 * Copies files into a new folder below DIR, flushes them and reads them back. The folder has its name only when all of
 * it is there; until then, and where the copying was cut off, it is called `<name>.part`.
 */
export async function keepLeft(
  dir: string,
  name: string,
  files: readonly FileToKeep[],
  signal: AbortSignal,
): Promise<KeptLeft> {
  const folder = await freeName(dir, name);
  const draft = `${folder}.part`;
  try {
    await makeFolders(dir);
    await mkdir(draft);
    const kept: KeptLeft['files'][number][] = [];
    for (const file of files) {
      signal.throwIfAborted();
      kept.push(await keepOne(draft, file, signal));
    }
    await moveInto(draft, folder);
    return { folder, files: kept };
  } catch (cause) {
    throw toDeskError(draft, cause);
  }
}

async function freeName(dir: string, name: string): Promise<string> {
  const isTaken = (path: string): Promise<boolean> =>
    lstat(path).then(
      () => true,
      () => false,
    );
  for (let next = 1; ; next++) {
    const path = join(dir, next === 1 ? name : `${name}-${next}`);
    if (!(await isTaken(path)) && !(await isTaken(`${path}.part`))) return path;
  }
}

async function keepOne(
  folder: string,
  { path, bytes, read }: FileToKeep,
  signal: AbortSignal,
): Promise<KeptLeft['files'][number]> {
  const to = join(folder, ...path.split('/'));
  // A name that a desk reads as a path (a backslash on Windows) must not lead anywhere else.
  if (!to.startsWith(`${folder}${sep}`)) throw differs(path, 'its name cannot be kept here');
  await mkdir(dirname(to), { recursive: true });
  const hash = createHash('sha256');
  let written = 0;
  const file = await open(to, 'wx');
  try {
    for await (const chunk of await read()) {
      signal.throwIfAborted();
      hash.update(chunk);
      await file.writeFile(chunk);
      written += chunk.byteLength;
    }
    await file.sync();
  } finally {
    await file.close();
  }
  const sha256 = hash.digest('hex');
  if (written !== bytes) throw differs(to, `it should have ${bytes} bytes and has ${written}`);
  const back = await readWhole(to, () => {}, signal);
  if (back.sha256 !== sha256) throw differs(to, 'the copy at the desk reads back differently');
  return { path, bytes, sha256 };
}

const differs = (subject: string, message: string): ToolError =>
  new ToolError('file/unreadable', subject, `${message}.`, `Name another folder with --keep-left. ${nothing}`);

const nothing = 'Nothing on the stick was changed.';

function toDeskError(folder: string, cause: unknown): unknown {
  const code = systemWordOf(cause);
  if (cause instanceof ToolError || code === undefined) return cause;
  const todo = `Free some space, or name another folder with --keep-left. ${nothing}`;
  return new ToolError('file/not-permitted', folder, `${folder} cannot be written (${code}).`, todo, cause);
}

/** Whether DIR lies on the stick at TARGET: what is cleared away must not be kept there. */
export async function liesOn(target: string, dir: string): Promise<boolean> {
  const stick = await realpath(target).catch(() => resolve(target));
  let folder = resolve(dir);
  // The folder may be new; what is there of its path says where it will lie.
  for (;;) {
    const real = await realpath(folder).catch(() => undefined);
    if (real !== undefined || folder === resolve(folder, '..')) {
      folder = real ?? folder;
      break;
    }
    folder = resolve(folder, '..');
  }
  return folder === stick || folder.startsWith(stick.endsWith(sep) ? stick : `${stick}${sep}`);
}

/** Where a desk keeps copies when nobody names a folder: its own data folder. */
const ownLeftFolder = (): string => join(envPaths('stickwright', { suffix: '' }).data, 'left');

/** The same for what lies on TARGET. Throws `file/not-permitted` where it lies on that very stick. */
export async function ownFolderFor(target: string): Promise<string> {
  const folder = ownLeftFolder();
  if (!(await liesOn(target, folder))) return folder;
  throw new ToolError(
    'file/not-permitted',
    folder,
    `${folder}, where copies would be kept, lies on the stick.`,
    'Look at the stick without keeping copies, or at another desk.',
  );
}
