import { mkdir, readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { recordName } from '../../core/shelf/shelf-record.ts';
import { idPattern } from './list-packages.ts';
import type { Leftovers } from './shelf.ts';
import { newTag, shelfLayout } from './shelf-folder.ts';

/** A desk that still adds touches its file all the time; one that has not for a day was cut off. */
const untouchedMs = 24 * 60 * 60 * 1000;

interface Unfinished {
  readonly name: string;
  readonly path: string;
  readonly bytes: number;
  readonly touchedMs: number;
}

/** What does not belong on the shelf, and what desks that were cut off left. */
export async function findLeftovers(place: string): Promise<Leftovers> {
  const unfinished = (await findUnfinished(place)).map(({ name, bytes, touchedMs }) => ({
    name,
    bytes,
    since: new Date(touchedMs).toISOString(),
  }));
  return { strangers: await findStrangers(place), unfinished };
}

/**
 * Clears away what has been untouched for a day, by the clock of the file system that the shelf lies on: the clocks of
 * desks differ. Whatever cannot be cleared stays for the next time.
 */
export async function clearLeftovers(place: string): Promise<void> {
  const found = await findUnfinished(place);
  if (found.length === 0) return;
  const nowMs = await clockOf(place);
  if (nowMs === undefined) return;
  for (const { path, touchedMs } of found) {
    if (nowMs - touchedMs > untouchedMs) await rm(path, { recursive: true, force: true }).catch(() => {});
  }
}

async function clockOf(place: string): Promise<number | undefined> {
  const probe = join(place, shelfLayout.incoming, newTag());
  try {
    await mkdir(probe, { recursive: true });
    return (await stat(probe)).mtimeMs;
  } catch {
    return undefined;
  } finally {
    await rm(probe, { recursive: true, force: true }).catch(() => {});
  }
}

async function findUnfinished(place: string): Promise<readonly Unfinished[]> {
  const found: Unfinished[] = [];
  for (const where of [shelfLayout.incoming, shelfLayout.removed]) {
    for (const name of await namesIn(join(place, where))) {
      const path = join(place, where, name);
      const inside = await namesIn(path);
      const facts = await Promise.all([path, ...inside.map((one) => join(path, one))].map((one) => factsOf(one)));
      const known = facts.filter((one) => one !== undefined);
      if (known.length === 0) continue;
      const files = known.filter((one) => one.isFile());
      const bytes = files.reduce((sum, { size }) => sum + size, 0);
      found.push({ name: `${where}/${name}`, path, bytes, touchedMs: Math.max(...known.map((one) => one.mtimeMs)) });
    }
  }
  return found;
}

async function findStrangers(place: string): Promise<Leftovers['strangers']> {
  const own: readonly string[] = Object.values(shelfLayout);
  const atRoot = (await namesIn(place)).filter((name) => !own.includes(name));
  const packages = join(place, shelfLayout.packages);
  const ids = await namesIn(packages);
  const strangers: { name: string; where: string; id: string | undefined }[] = [
    ...atRoot.map((name) => ({ name, where: place, id: undefined })),
    ...ids.filter((name) => !idPattern.test(name)).map((name) => ({ name, where: packages, id: undefined })),
  ];
  for (const id of ids.filter((name) => idPattern.test(name))) {
    const names = (await namesIn(join(packages, id))).filter((name) => name !== recordName);
    strangers.push(...names.map((name) => ({ name, where: join(packages, id), id })));
  }
  return strangers;
}

const namesIn = async (folder: string): Promise<readonly string[]> =>
  (await readdir(folder).catch(() => [])).toSorted();

const factsOf = async (path: string) => await stat(path).catch(() => undefined);
