import { createHash, randomBytes } from 'node:crypto';
import { link, mkdir, readFile, realpath, rm, stat } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import envPaths from 'env-paths';
import { writeDurably } from '../shelf/shelf-folder.ts';

/** This computer and account, told apart from others of the same name. */
export interface Desk {
  readonly name: string;
  readonly id: string;
}

const idPattern = /^[0-9a-f]{16}$/;

/**
 * The desk, with the id that it was given when it first wrote: computers made from one image bear one name. Where the id
 * cannot be kept, each run has one of its own, and so its own file of records.
 */
export async function readDesk(folder = envPaths('stickwright', { suffix: '' }).data): Promise<Desk> {
  const name = hostname();
  const path = join(folder, 'desk-id');
  const known = await readId(path);
  if (known !== undefined) return { name, id: known };
  const id = randomBytes(8).toString('hex');
  const draft = `${path}.${id}`;
  try {
    await mkdir(folder, { recursive: true });
    await writeDurably(draft, `${id}\n`);
    // Shows the file with its content in it, and only if no other run was faster.
    await link(draft, path).catch(() => {});
  } catch {
    // Said above: then the id is this run's alone.
  } finally {
    await rm(draft, { force: true }).catch(() => {});
  }
  return { name, id: (await readId(path)) ?? id };
}

async function readId(path: string): Promise<string | undefined> {
  const text = (await readFile(path, 'utf8').catch(() => '')).trim();
  return idPattern.test(text) ? text : undefined;
}

/**
 * The name of a writer's file, without its extension: readable, legal on every system, and different for another desk,
 * another person and another copy of the folder, so that also copying files by hand from one copy to the other never
 * puts one file over another that has other lines.
 */
export async function writerName(folder: string, who: string, desk: Desk): Promise<string> {
  const [path, { ino }] = await Promise.all([realpath(folder), stat(folder, { bigint: true })]);
  const told = JSON.stringify([desk.name, desk.id, who, path, String(ino)]);
  const tag = createHash('sha256').update(told).digest('hex').slice(0, 12);
  return [plain(who, 'person'), plain(desk.name, 'desk'), tag].join('-');
}

function plain(text: string, otherwise: string): string {
  const letters = text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
  return (
    letters
      .replace(/[^a-z0-9]+/g, '.')
      .replace(/^\.|\.$/g, '')
      .slice(0, 20) || otherwise
  );
}
