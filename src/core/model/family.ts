import { z } from 'zod';
import { modes } from './mode.ts';

/** A map of part name to value, as `absent` and examples use it. */
const partValues = z.record(z.string(), z.string());

const byteSize = z
  .union([z.number().int().positive(), z.string().regex(/^\d+(\.\d+)? ?(B|KB|MB|GB|TB|KiB|MiB|GiB|TiB)$/)])
  .describe(
    'Bytes, or a number with a unit: 32 GB is 32,000,000,000 bytes as sticks are sold, 32 GiB is 34,359,738,368.',
  );

const example = z
  .object({ text: z.string().min(1) })
  .catchall(z.string())
  .describe('A real-form example: the text, and each part that must come out of it.');

const labelGrammar = z.strictObject({
  pattern: z.string().min(1).describe('RE2 regular expression over the normalised label; each named group is a part.'),
  absent: partValues.default({}).describe('What it means when an optional part is not on the label.'),
  where: partValues.default({}).describe('Where on the plate each part is found, for the person who must look again.'),
  examples: z.array(example).min(1),
});

const packageGrammar = z.strictObject({
  pattern: z.string().min(1).describe('RE2 regular expression over the file name; `build` names the build.'),
  absent: partValues.default({}),
  agree: z.array(z.string()).min(1).describe('Parts that must equal the label; the other parts serve all.'),
  examples: z.array(example).min(1),
});

export const fileSystemsOfPanels = ['fat12', 'fat16', 'fat32', 'exfat', 'ntfs'] as const;

const modeRules = z.strictObject({
  'file-systems': z.array(z.enum(fileSystemsOfPanels)).min(1),
  'partition-table': z
    .array(z.enum(['mbr', 'gpt', 'none']))
    .min(1)
    .optional(),
  'largest-stick': byteSize.optional(),
  'required-at-root': z
    .array(z.string())
    .default([])
    .describe('Globs that the laid-out stick must match, each at least once.'),
  'only-these-at-root': z
    .boolean()
    .default(false)
    .describe("The panel wants nothing else at the root. The tool's own folder is the one exception."),
  'keeps-data': z.boolean().describe('false: everything on the panel is wiped.'),
  port: z.string().describe('Which port of the panel takes the stick.'),
  steps: z.array(z.string()).default([]).describe("What to do at the panel, in order, after the maker's document."),
});

/** The one definition of a family file: it validates, it types, and the published JSON Schema is made from it. */
export const familySchema = z.strictObject({
  schema: z.literal(1),
  family: z
    .string()
    .regex(/^[a-z0-9][a-z0-9-]*$/)
    .describe('Short name, unique in the folder.'),
  title: z.string().min(1),
  label: labelGrammar,
  packages: z.array(packageGrammar).min(1),
  build: z.strictObject({ scheme: z.enum(['date', 'version', 'counter', 'letters', 'version-date']) }),
  'published-hash': z
    .enum(['expected', 'none'])
    .default('expected')
    .describe('none: the maker publishes no checksums, so their absence is not held against a stick.'),
  modes: z.partialRecord(z.enum(modes), modeRules),
});

export type Family = z.infer<typeof familySchema> & {
  /** Where it was read from; for messages. */
  readonly source: string;
  /** SHA-256 of the file's bytes, lower hex. */
  readonly sha256: string;
};

export type ModeRules = z.infer<typeof modeRules>;
