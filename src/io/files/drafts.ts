import { extname, join } from 'node:path';
import envPaths from 'env-paths';
import * as z from 'zod';
import { makeFolders, moveInto, removeFile, removeTree, writeDurably } from './durable-files.ts';
import { makeHeldFolder } from './hold-for-now.ts';
import { readRegularFile } from './regular-file.ts';

/** What a person answered so far, so that nothing typed is lost: see core/guide. */
export interface Draft {
  /** Where all drafts of the desk lie. */
  readonly folder: string;
  readonly answers: Readonly<Record<string, string>>;
  /** On the medium when it resolves. */
  readonly keep: (answers: Readonly<Record<string, string>>) => Promise<void>;
  readonly drop: () => Promise<void>;
}

const schema = z.strictObject({
  schema: z.literal('stickwright/draft/1'),
  /** Pairs, because their order counts: keys that look like numbers would lose it. */
  answers: z.array(z.tuple([z.string(), z.string()])),
});

/** What the desk keeps for itself: the XDG data folder, %LOCALAPPDATA%, ~/Library/Application Support. */
export const deskDataFolder = (): string => envPaths('stickwright', { suffix: '' }).data;

const draftFolder = (): string => join(deskDataFolder(), 'drafts');

/** Some dozens of answers; a plate that was pasted is the longest. */
const largestDraft = 1_000_000;

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** The draft of this NAME. One that cannot be read, or is of another version, is none. */
export async function openDraft(name: string): Promise<Draft> {
  const folder = draftFolder();
  const path = join(folder, `${name}.json`);
  const text = await readRegularFile(path, largestDraft).catch(() => Buffer.from('null'));
  const read = schema.safeParse(parsed(text.toString('utf8')));
  return {
    folder,
    answers: read.success ? Object.fromEntries(read.data.answers) : {},
    keep: async (answers) => {
      const fresh = `${path}.${process.pid}`;
      const document = { schema: 'stickwright/draft/1', answers: Object.entries(answers) };
      await makeFolders(folder, 0o700);
      await removeFile(fresh);
      await writeDurably(fresh, `${JSON.stringify(document, null, 2)}\n`, 0o600);
      await moveInto(fresh, path);
    },
    drop: async () => await removeFile(path),
  };
}

/** BYTES as a file of this account's own, of the ending that NAME has, for as long as USE takes. */
export async function inOwnFile<Answer>(
  name: string,
  bytes: Uint8Array,
  use: (path: string) => Promise<Answer>,
): Promise<Answer> {
  const folder = await makeHeldFolder();
  try {
    const path = join(folder, `dropped${/^\.\w{1,8}$/.test(extname(name)) ? extname(name) : ''}`);
    await writeDurably(path, bytes, 0o600);
    return await use(path);
  } finally {
    await removeTree(folder);
  }
}
