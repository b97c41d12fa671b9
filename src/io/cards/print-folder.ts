import { createHash } from 'node:crypto';
import { join } from 'node:path';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from '../files/durable-files.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { toRoundError } from '../rounds/rounds.ts';
import { newTag } from '../shelf/shelf-folder.ts';

/** SHA-256 of what was printed here, for `sha256sum -c`, and for knowing our own files again. */
const listName = 'printed.sha256';
/** The cards of a thousand rooms have a few MB. */
const largestPrintBytes = 2 ** 30;

export interface PrintFolder {
  readonly place: string;
  /**
   * Throws ToolError `file/not-permitted` where one of these is there already and is not, unchanged, what we printed
   * earlier.
   */
  expectOurs(names: readonly string[]): Promise<void>;
  /** Puts a file there as a whole, and remembers it as ours. */
  put(name: string, bytes: Uint8Array): Promise<void>;
  /**
   * Takes away what was printed earlier and would now say something else; what is not ours stays. Says whether it did.
   */
  drop(name: string): Promise<boolean>;
}

/**
 * A folder for pages to print; it is made where it is not there. Throws ToolError `file/not-permitted`,
 * `round/write-failed`.
 */
export async function openPrintFolder(place: string): Promise<PrintFolder> {
  const at = (name: string): string => join(place, name);
  await makeFolders(place).catch((cause) => Promise.reject(toRoundError(cause, 'write', place)));
  const ours = parseList(await readIfThere(at(listName)));

  return {
    place,
    async expectOurs(names) {
      for (const name of names) {
        const bytes = await readIfThere(at(name));
        if (bytes === undefined || ours.get(name)?.has(sha256Of(bytes)) === true) continue;
        const message = `${at(name)} is already there, and it is not what was printed here before.`;
        const todo = 'It was left as it is. Move it away, or name another folder with --out.';
        throw new ToolError('file/not-permitted', at(name), message, todo);
      }
    },
    async put(name, bytes) {
      const sha256 = sha256Of(bytes);
      // Known as ours before it has its name: a cut in between must not make it a stranger's.
      ours.set(name, new Set([...(ours.get(name) ?? []), sha256]));
      await replace(at(listName), Buffer.from(listText(ours)));
      await replace(at(name), bytes);
      ours.set(name, new Set([sha256]));
      await replace(at(listName), Buffer.from(listText(ours)));
    },
    async drop(name) {
      const bytes = await readIfThere(at(name));
      if (bytes === undefined || ours.get(name)?.has(sha256Of(bytes)) !== true) return false;
      await removeFile(at(name));
      ours.delete(name);
      await replace(at(listName), Buffer.from(listText(ours)));
      return true;
    },
  };
}

type Ours = Map<string, ReadonlySet<string>>;

const listText = (ours: Ours): string =>
  [...ours]
    .toSorted(([a], [b]) => (a < b ? -1 : 1))
    .flatMap(([name, hashes]) => [...hashes].map((sha256) => `${sha256}  ${name}\n`))
    .join('');

function parseList(bytes: Uint8Array | undefined): Ours {
  const ours: Ours = new Map();
  for (const line of Buffer.from(bytes ?? [])
    .toString('utf8')
    .split('\n')) {
    const [, sha256 = '', name = ''] = /^([0-9a-f]{64}) {2}(.+)$/.exec(line) ?? [];
    if (name !== '') ours.set(name, new Set([...(ours.get(name) ?? []), sha256]));
  }
  return ours;
}

const sha256Of = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

async function readIfThere(path: string): Promise<Uint8Array | undefined> {
  try {
    return await readRegularFile(path, largestPrintBytes);
  } catch (cause) {
    if (systemWordOf(cause) === 'ENOENT') return undefined;
    throw toRoundError(cause, 'read', path);
  }
}

async function replace(path: string, bytes: Uint8Array): Promise<void> {
  const fresh = `${path}.${newTag()}.new`;
  try {
    await writeDurably(fresh, bytes);
    await moveInto(fresh, path);
  } catch (cause) {
    await removeFile(fresh);
    throw toRoundError(cause, 'write', path);
  }
}
