import { createHmac, randomBytes, randomInt } from 'node:crypto';
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { deflateRawSync, inflateRawSync } from 'node:zlib';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import type { KnownPocket } from '../../core/rounds/pocket/make-pocket.ts';
import { knownPocketSchema, type PocketTools } from '../../core/rounds/pocket/read-pocket.ts';
import { sha256 } from '../digest/node-digest.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from '../files/durable-files.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { toRoundError } from './rounds.ts';

/** What core asks for to read what came back from a phone, by Node's own crypto and zlib. */
export const nodePocketTools: PocketTools = {
  sha256,
  hmac: (secret, text) => createHmac('sha256', Buffer.from(secret, 'hex')).update(text).digest('hex'),
  pack: (text, dictionary) => deflateRawSync(text, { level: 9, dictionary: Buffer.from(dictionary) }),
  unpack: (bytes, dictionary, mostBytes) =>
    inflateRawSync(bytes, { dictionary: Buffer.from(dictionary), maxOutputLength: mostBytes }).toString('utf8'),
};

const folderName = 'pockets';
const extension = '.json';
const largestBytes = 100_000;

/** The files for phones that this round made, in the order of their ids. What is none of ours there is left alone. */
export async function listPockets(place: string): Promise<readonly KnownPocket[]> {
  const folder = join(place, folderName);
  const entries = await readdir(folder).catch((cause) => {
    if (systemWordOf(cause) === 'ENOENT') return [];
    throw toRoundError(cause, 'read', folder);
  });
  const names = entries.filter((name) => name.endsWith(extension) && !name.startsWith('.')).toSorted();
  return await Promise.all(names.map((name) => readPocket(join(folder, name))));
}

async function readPocket(path: string): Promise<KnownPocket> {
  const text = await readRegularFile(path, largestBytes).catch((cause) => {
    throw toRoundError(cause, 'read', path);
  });
  try {
    const { schema: _known, ...pocket } = knownPocketSchema.parse(JSON.parse(text.toString('utf8')));
    return pocket;
  } catch (cause) {
    throw new ToolError(
      'round/unreadable',
      path,
      `${path} does not say of which phone's file it is: it was cut short, or changed.`,
      'Take it from a copy of the round. Without it the entries of that file cannot be told from foreign ones; move it away to merge others.',
      cause,
    );
  }
}

/** Keeps it before the file itself is given out: what comes back is always known. Nobody else may read the secret. */
export async function keepPocket(place: string, pocket: KnownPocket): Promise<void> {
  const path = join(place, folderName, `${pocket.id}${extension}`);
  const draft = `${path}.${randomBytes(6).toString('hex')}.new`;
  try {
    await makeFolders(join(place, folderName));
    const content = { schema: 'stickwright/known-pocket/1', ...pocket };
    await writeDurably(draft, `${JSON.stringify(content, null, 2)}\n`, 0o600);
    await moveInto(draft, path);
  } catch (cause) {
    await removeFile(draft).catch(() => {});
    throw toRoundError(cause, 'write', path);
  }
}

/** Letters and digits of which none is read for another. */
const idAlphabet = 'ACDEFHJKLMNPRTWXY3479';

/** 35 bits: no two files of a round, and of all rounds of a desk hardly ever, have one. */
export const newPocketId = (): string =>
  Array.from({ length: 8 }, () => idAlphabet[randomInt(idAlphabet.length)]).join('');

export const newPocketSecret = (): string => randomBytes(32).toString('hex');

/** Keeps the photos of entries beside the records; one that is there already stays as it is. */
export async function keepPhotos(
  place: string,
  photos: readonly { readonly record: string; readonly jpeg: string }[],
): Promise<void> {
  if (photos.length === 0) return;
  const folder = join(place, 'photos');
  try {
    await makeFolders(folder);
    const there = new Set(await readdir(folder));
    for (const { record, jpeg } of photos) {
      const name = `${record}.jpg`;
      if (there.has(name)) continue;
      const draft = join(folder, `${name}.${randomBytes(6).toString('hex')}.new`);
      await writeDurably(draft, Buffer.from(jpeg, 'base64'));
      await moveInto(draft, join(folder, name));
    }
  } catch (cause) {
    throw toRoundError(cause, 'write', folder);
  }
}
