import { parse } from 'yaml';
import * as z from 'zod';
import type { FleetExamples } from '../../core/label/propose-family.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { readTextFile } from '../files/read-text-file.ts';

const example = z.object({ text: z.string().min(1) }).catchall(z.string());

const schema = z.strictObject({
  family: z.string().regex(/^[a-z0-9][a-z0-9-]*$/),
  title: z.string().min(1),
  labels: z.array(example).min(2),
  packages: z.array(example).min(1),
  absent: z.record(z.string(), z.string()).default({}),
});

/** The form of the file, for messages and help. */
export const fleetExamplesForm = `family: quartz
title: Quartz hall panels
labels:
  - { text: "QZ-75.C4 R2", size: "75", series: C4, factory: R2 }
  - { text: "QZ-110.D1", size: "110", series: D1 }
packages:
  - { text: "qz_c4_r2_20240117.zip", series: C4, factory: R2, build: "20240117" }
absent: { factory: standard }`;

/** Reads labels and package names of a fleet with their parts, as YAML or JSON; `-` is standard input. */
export async function readFleetExamples(path: string): Promise<FleetExamples> {
  const text = await readText(path);
  const parsed = schema.safeParse(parseText(path, text));
  if (!parsed.success) throw wrong(path, z.prettifyError(parsed.error));
  const { labels, packages, ...rest } = parsed.data;
  return { ...rest, labels: labels.map(withParts), packages: packages.map(withParts) };
}

const withParts = ({ text, ...parts }: z.output<typeof example>) => ({ text, parts });

async function readText(path: string): Promise<string> {
  if (path === '-') {
    let text = '';
    for await (const chunk of process.stdin.setEncoding('utf8')) text += chunk;
    return text;
  }
  return await readTextFile(path);
}

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
