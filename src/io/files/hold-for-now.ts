import { lstat, mkdtemp, readdir } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { roundedSize } from '../../core/text/words.ts';
import { isRunning } from '../programs/own-process.ts';
import { removeTree } from './durable-files.ts';
import { type Delivery, freeWhereTooLittle, type Received, takeIn } from './take-in.ts';

/** `stickwright-look-<process>-<random>`: whose it is, so that it can be cleared away when that process has ended. */
const prefix = 'stickwright-look-';
const ours = new RegExp(`^${prefix}(\\d+)-\\w+$`);

/** A folder of this account's own, for the moment: `clearHeld` takes it away where this process does not. */
export const makeHeldFolder = (): Promise<string> => mkdtemp(join(tmpdir(), `${prefix}${process.pid}-`));

/**
 * Takes a file in where the system keeps what is for the moment (TMPDIR, TEMP), in a folder that nobody else may look
 * into. Whatever goes wrong, nothing stays; after a kill `clearHeld` takes it away. Throws `file/not-permitted` where
 * it cannot lie there.
 */
export async function holdForNow(name: string, delivery: Delivery): Promise<Received> {
  const place = tmpdir();
  let folder: string | undefined;
  const discard = async (): Promise<void> => {
    if (folder !== undefined) await removeTree(folder);
  };
  try {
    await expectSpace(place, delivery.bytes);
    folder = await makeHeldFolder();
    const path = join(folder, name);
    await takeIn(path, delivery);
    return { path, discard };
  } catch (cause) {
    await discard();
    throw delivery.signal.aborted ? cause : toHeldError(place, cause);
  }
}

/** Takes away what processes of this account held that have ended since, however they did. */
export async function clearHeld(): Promise<void> {
  const place = tmpdir();
  for (const name of await readdir(place).catch(() => [])) {
    const pid = Number(ours.exec(name)?.[1] ?? Number.NaN);
    if (Number.isNaN(pid) || isRunning(pid)) continue;
    const found = await lstat(join(place, name)).catch(() => undefined);
    if (found?.isDirectory() !== true || found.uid !== (process.getuid?.() ?? found.uid)) continue;
    await removeTree(join(place, name)).catch(() => {});
  }
}

async function expectSpace(place: string, bytes: number): Promise<void> {
  const free = await freeWhereTooLittle(place, bytes);
  if (free === undefined) return;
  throw new ToolError(
    'file/not-permitted',
    place,
    `There is no space for it at ${place} while it is looked into: ${roundedSize(bytes)} are needed, ${roundedSize(free)} are free.`,
    elsewhere,
  );
}

const elsewhere =
  'Nothing of it was kept. Free some space there, or put the package on the shelf instead; the command stickwright inspect reads it where it lies.';

function toHeldError(place: string, cause: unknown): unknown {
  const word = systemWordOf(cause);
  if (cause instanceof ToolError || word === undefined) return cause;
  const message = `It cannot lie at ${place} while it is looked into (${word}).`;
  return new ToolError('file/not-permitted', place, message, elsewhere, cause);
}
