import { dirname, join } from 'node:path';
import envPaths from 'env-paths';
import { settingNamed, settings } from '../../core/model/settings.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from './durable-files.ts';
import { readRegularFileSync } from './regular-file.ts';

type Kept = Readonly<Record<string, string>>;

const largestFile = 100_000;
const schemaId = 'stickwright/settings/1';

/** XDG config folder, %APPDATA%, ~/Library/Preferences. */
export const settingsPath = (): string => join(envPaths('stickwright', { suffix: '' }).config, 'settings.json');

/**
 * What the desk's file of settings says; empty where there is none. One that cannot be understood is no empty one: it
 * may hold a stricter rule. Throws `file/unreadable`, `file/not-permitted`.
 */
export function readSettings(path: string = settingsPath()): Kept {
  let text: string;
  try {
    text = readRegularFileSync(path, largestFile).toString('utf8');
  } catch (cause) {
    const word = systemWordOf(cause);
    if (word === undefined) throw cause;
    if (word === 'ENOENT' || word === 'ENOTDIR') return {};
    const todo = 'Make it readable for this account, or delete it: then every setting is as it comes.';
    throw new ToolError('file/not-permitted', path, `${path} cannot be read (${word}).`, todo, cause);
  }
  const wrong = (what: string): ToolError =>
    new ToolError(
      'file/unreadable',
      path,
      `${path} does not hold the settings of a desk: ${what}.`,
      'Correct it, or delete it and set what you need anew: stickwright settings set NAME VALUE.',
    );
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch (cause) {
    throw wrong(cause instanceof Error ? cause.message : String(cause));
  }
  const { schema, ...kept } = (document ?? {}) as Record<string, unknown>;
  if (schema !== schemaId) throw wrong(`its schema is ${String(schema)}, and this version reads ${schemaId}`);
  for (const [name, value] of Object.entries(kept)) {
    if (settingNamed(name) === undefined) throw wrong(`there is no setting ${name}`);
    if (typeof value !== 'string') throw wrong(`${name} is no text`);
  }
  return kept as Kept;
}

/** Writes the file whole, or removes it where nothing is set. Throws `file/not-permitted`. */
export async function writeSettings(kept: Kept, path: string = settingsPath()): Promise<void> {
  const fresh = `${path}.${process.pid}`;
  try {
    if (Object.keys(kept).length === 0) return await removeFile(path);
    await makeFolders(dirname(path));
    await removeFile(fresh);
    await writeDurably(fresh, `${JSON.stringify({ schema: schemaId, ...kept }, null, 2)}\n`);
    await moveInto(fresh, path);
  } catch (cause) {
    const word = systemWordOf(cause);
    if (word === undefined) throw cause;
    const todo = 'Set the variable instead (stickwright settings names it), or ask whoever owns the folder.';
    throw new ToolError('file/not-permitted', path, `${path} cannot be written (${word}).`, todo, cause);
  }
}

/** Variables that the file stands for in this run. */
const stoodFor = new Set<string>();

/**
 * Lets what the file says stand for variables that nobody set: a variable beats the file, and a word beats both. Once
 * more: what the file does not say any more holds no longer.
 */
export function applySettings(environment: NodeJS.ProcessEnv, path: string = settingsPath()): void {
  const kept = readSettings(path);
  for (const { name, variable } of settings) {
    if (stoodFor.delete(variable)) delete environment[variable];
    const value = Object.hasOwn(kept, name) ? kept[name] : undefined;
    if (value === undefined || (environment[variable] ?? '') !== '') continue;
    environment[variable] = value;
    stoodFor.add(variable);
  }
}

/** The variables as they were before. */
export const environmentBefore = (environment: NodeJS.ProcessEnv): NodeJS.ProcessEnv =>
  Object.fromEntries(Object.entries(environment).filter(([name]) => !stoodFor.has(name)));
