import { join } from 'node:path';
import { parse } from 'yaml';
import * as z from 'zod';
import type { FleetExamples } from '../../core/label/propose-family.ts';
import { familySchema } from '../../core/model/family.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { makeFolders, moveInto, syncFolder, writeDurably } from '../files/durable-files.ts';
import { readTextFile } from '../files/regular-file.ts';
import { fileFrom } from '../files/standard-input.ts';

/** Writes a new family file, never over another, and beside it the schema that editors complete with. */
export async function writeFamilyFile(folder: string, family: string, text: string): Promise<string> {
  const path = join(folder, `${family}.yaml`);
  await makeFolders(folder).catch((cause: unknown) => cannotWrite(path, cause));
  await writeDurably(path, text).catch((cause: unknown) => {
    if (systemWordOf(cause) !== 'EEXIST') cannotWrite(path, cause);
    const todo = 'Give the family another short name, or change that file in an editor.';
    throw new ToolError('family/unreadable', path, `${path} is already there; it was left as it is.`, todo, cause);
  });
  const schema = { ...z.toJSONSchema(familySchema, { io: 'input' }), title: 'stickwright panel family' };
  // A schema that is there already may be a newer one; without any, editors only complete less.
  await writeDurably(join(folder, 'family.schema.json'), `${JSON.stringify(schema, null, 2)}\n`).catch(() => {});
  await syncFolder(folder);
  return path;
}

/** Puts another text in the place of a family file, whole or not at all. */
export async function changeFamilyFile(path: string, text: string): Promise<void> {
  const fresh = `${path}.${process.pid}.new`;
  try {
    await writeDurably(fresh, text);
    await moveInto(fresh, path);
  } catch (cause) {
    cannotWrite(
      path,
      cause,
      'Nothing was changed. Ask whoever owns the file for the right to change it, and look whether there is space left.',
    );
  }
}

function cannotWrite(path: string, cause: unknown, todo = 'Name another folder with --to.'): never {
  const word = systemWordOf(cause);
  if (word === undefined) throw cause;
  throw new ToolError('file/not-permitted', path, `${path} cannot be written (${word}).`, todo, cause);
}

const example = z.object({ text: z.string().min(1) }).catchall(z.string());

const schema = z.strictObject({
  family: z.string().regex(/^[a-z0-9][a-z0-9-]*$/),
  title: z.string().min(1),
  labels: z.array(example).min(1),
  packages: z.array(example).min(1),
  absent: z.record(z.string(), z.string()).default({}),
  'name-says-nothing': z.literal(true).optional(),
  build: z.string().optional(),
});

/** The form of the file, for messages and help: no line so long that a terminal would break it. */
export const fleetExamplesForm = `family: quartz
title: Quartz hall panels
labels:
  - { text: "75:QB by R2", size: "75", series: QB, factory: R2 }
  - { text: "110:QD", size: "110", series: QD }
packages:
  - text: quartz_qb_r2_20240117.zip
    series: QB
    factory: R2
    build: "20240117"
absent: { factory: standard }`;

/** Reads labels and package names of a fleet with their parts, as YAML or JSON; `-` is standard input. */
export async function readFleetExamples(path: string): Promise<FleetExamples> {
  const text = await readTextFile(await fileFrom(path));
  const parsed = schema.safeParse(parseText(path, text));
  if (!parsed.success) throw wrong(path, z.prettifyError(parsed.error));
  const { labels, packages, 'name-says-nothing': nameSaysNothing, build: saidBuild, ...rest } = parsed.data;
  return { ...rest, nameSaysNothing, saidBuild, labels: labels.map(withParts), packages: packages.map(withParts) };
}

const withParts = ({ text, ...parts }: z.output<typeof example>) => ({ text, parts });

function parseText(path: string, text: string): unknown {
  try {
    return parse(text);
  } catch (cause) {
    throw wrong(path, cause instanceof Error ? cause.message : String(cause));
  }
}

const wrong = (path: string, what: string): ToolError =>
  new ToolError(
    'family/unreadable',
    path,
    `${path} does not hold examples of a fleet:\n${what}`,
    `Write them like this; numbers stand in quotation marks:\n${fleetExamplesForm}`,
  );
