import { randomUUID } from 'node:crypto';
import { dirname, join } from 'node:path';
import envPaths from 'env-paths';
import * as z from 'zod';
import { roomFields } from '../../core/model/room.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { normaliseHeading } from '../../core/rounds/list/list-table.ts';
import type { Columns } from '../../core/rounds/list/match-columns.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from '../files/durable-files.ts';
import { readRegularFile } from '../files/regular-file.ts';
import type { ColumnMemory } from './room-lists.ts';

/** Lists with other headings than these push the oldest ones out. */
const mostLists = 200;
/** 200 lists with every heading that a spreadsheet can have are far below. */
const mostBytes = 64 * 2 ** 20;

const memorySchema = z.strictObject({
  schema: z.literal('stickwright/columns/1'),
  lists: z.array(
    z.strictObject({
      headings: z.array(z.string()).min(1),
      columns: z.partialRecord(z.enum(roomFields), z.number().int().nonnegative()),
    }),
  ),
});

type Remembered = z.output<typeof memorySchema>['lists'];

interface Opened {
  readonly lists: Remembered;
  /** Why what is there cannot be used. */
  readonly problem: string | undefined;
  /** What is there is no memory at all, and may be put aside; one of a later version may not. */
  readonly worthless: boolean;
}

/** STICKWRIGHT_COLUMNS, else columns.json in the user's config folder: XDG, %APPDATA%, ~/Library/Preferences. */
export function columnMemoryFile(environment: Readonly<Record<string, string | undefined>>): string {
  const named = environment.STICKWRIGHT_COLUMNS ?? '';
  return named === '' ? join(envPaths('stickwright', { suffix: '' }).config, 'columns.json') : named;
}

/** Opens what was said of the columns of earlier lists. What cannot be read counts as nothing, and is told. */
export async function openColumnMemory(path: string): Promise<ColumnMemory> {
  const opened = await readMemory(path);
  return {
    place: path,
    problem: opened.problem,
    recall: (headings) => opened.lists.find((one) => isSame(one.headings, headings))?.columns,
    keep: async (headings, columns) => {
      try {
        return await writeMemory(path, headings, columns);
      } catch (cause) {
        const code = systemWordOf(cause);
        if (code === undefined) throw cause;
        return `what you said of the columns could not be kept (${code})`;
      }
    },
  };
}

const comparable = (headings: readonly string[]): string =>
  JSON.stringify(headings.map(normaliseHeading)).replace(/(,"")+\]$/, ']');

const isSame = (first: readonly string[], second: readonly string[]): boolean =>
  comparable(first) === comparable(second);

async function readMemory(path: string): Promise<Opened> {
  const nothing = { lists: [], worthless: false };
  let text: string;
  try {
    text = (await readRegularFile(path, mostBytes)).toString('utf8');
  } catch (cause) {
    if (cause instanceof ToolError) return { ...nothing, problem: cause.message };
    const code = systemWordOf(cause);
    return { ...nothing, problem: code === 'ENOENT' ? undefined : `it cannot be read (${String(code)})` };
  }
  try {
    const content: unknown = JSON.parse(text);
    const parsed = memorySchema.safeParse(content);
    if (parsed.success) return { ...nothing, lists: parsed.data.lists.filter(isSound), problem: undefined };
    if (isLaterVersion(content)) return { ...nothing, problem: 'it was written by a later version' };
  } catch {
    // No JSON: damaged like the rest.
  }
  return { ...nothing, problem: 'it is damaged', worthless: true };
}

/** Two fields in one column, or a column that the headings do not have, is nothing that a person said. */
const isSound = ({ headings, columns }: Remembered[number]): boolean => {
  const said = Object.values(columns);
  return new Set(said).size === said.length && said.every((column) => column < headings.length);
};

const isLaterVersion = (content: unknown): boolean =>
  typeof content === 'object' &&
  content !== null &&
  'schema' in content &&
  typeof content.schema === 'string' &&
  /^stickwright\/columns\/([2-9]|[1-9]\d+)$/.test(content.schema);

/**
 * Written beside it, flushed and renamed: a reader sees the old memory or the new one. Answers why it was left alone.
 */
async function writeMemory(path: string, headings: readonly string[], columns: Columns): Promise<string | undefined> {
  const { lists, problem, worthless } = await readMemory(path);
  if (problem !== undefined && !worthless) return `${problem}, and was left alone`;
  const others = lists.filter((one) => !isSame(one.headings, headings));
  const kept = [...others, { headings: [...headings], columns }].slice(-mostLists);
  const text = `${JSON.stringify({ schema: 'stickwright/columns/1', lists: kept }, null, 2)}\n`;
  await makeFolders(dirname(path));
  const part = `${path}.${randomUUID()}.part`;
  try {
    await writeDurably(part, text);
    if (worthless) await moveInto(path, `${path}.damaged`);
    await moveInto(part, path);
  } catch (cause) {
    await removeFile(part);
    throw cause;
  }
  return undefined;
}
