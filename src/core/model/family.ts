import * as z from 'zod';
import { buildSchemes } from './build.ts';
import { modes } from './mode.ts';

/** A map of part name to value, as `absent` and examples use it. */
const partValues = z.record(z.string(), z.string());

const byteSize = z
  .union([
    z.number().int().positive(),
    z.string().regex(/^\d+(\.\d+)? ?(B|KB|MB|GB|TB|KiB|MiB|GiB|TiB)$/, {
      error: 'not a number of bytes, nor a number with a unit such as 32 GB',
    }),
  ])
  .describe(
    'Bytes, or a number with a unit: 32 GB is 32,000,000,000 bytes as sticks are sold, 32 GiB is 34,359,738,368.',
  );

const example = z
  .object({ text: z.string().min(1) })
  .catchall(z.string())
  .describe('A real-form example: the text, and each part that must come out of it.');

const labelGrammar = z.strictObject({
  pattern: z
    .string()
    .min(1)
    .describe(
      'RE2 regular expression over the whole normalised label, without regard to case; each named group (?<name>…) is a part.',
    ),
  absent: partValues.default({}).describe('What it means when an optional part is not on the label.'),
  where: partValues.default({}).describe('Where on the plate each part is found, for the person who must look again.'),
  examples: z.array(example).min(1),
});

const packageGrammar = z.strictObject({
  pattern: z
    .string()
    .min(1)
    .describe(
      'RE2 regular expression over the whole file name, without regard to case; the group `build` is the build.',
    ),
  absent: partValues.default({}).describe('What it means when an optional part is not in the file name.'),
  agree: z
    .array(z.string())
    .describe(
      'Parts that must equal the label; the other parts serve all. Empty where files are always called the same: then the name proves nothing.',
    ),
  examples: z.array(example).min(1),
});

const sixDigitForms = ['YYMMDD', 'DDMMYY', 'MMDDYY'] as const;

export type SixDigitForm = (typeof sixDigitForms)[number];

const buildRules = z.strictObject({
  scheme: z
    .enum(buildSchemes)
    .describe(
      'date: 20240117, 202401171530, 240117. version: 1.10.2, V1.02, 2.0.0-rc.1. counter: 1047, R1047. letters: A … Z, AA; B2. version-date: V1.02.03_20240117.',
    ),
  'six-digits': z
    .enum(sixDigitForms)
    .optional()
    .describe('What six digits mean. Without it a six-digit date is ambiguous, and most pairs cannot be ordered.'),
});

const bridge = z
  .strictObject({
    'running-before': z.string().min(1).describe('Panels whose running build is older than this …'),
    first: z.string().min(1).describe('… must take this build before anything newer.'),
    for: partValues.default({}).describe('Only for panels with these parts; empty means all of the family.'),
    because: z.string().min(1).describe("The maker's reason, for the person who carries the sticks."),
  })
  .describe('A build that must not be skipped.');

const overTheAir = z
  .strictObject({
    steps: z.array(z.string()).min(1).describe('What to switch on at the panel, in order, as the maker says.'),
    hours: z
      .strictObject({ from: z.number().positive(), to: z.number().positive() })
      .refine(({ from, to }) => from <= to, { error: 'from is longer than to' })
      .optional()
      .describe('After how long a build that is offered has arrived, as the maker says.'),
  })
  .describe('How these panels update themselves over the network; the mildest way, and no stick.');

const madeFrom = z
  .strictObject({
    labels: z.array(z.string().min(1)).min(1),
    packages: z.array(z.string().min(1)).min(1),
    by: z.string().min(1).describe('On whose word they belong together.'),
    'where-read': partValues.default({}).describe('Where it was read, part by part.'),
    confirmed: z
      .array(z.strictObject({ label: z.string().min(1), package: z.string().min(1), from: z.string().min(1) }))
      .default([])
      .describe('Labels with a package that a panel with that label took, from elsewhere than the above.'),
  })
  .describe(
    'Only in a file that was made at a desk from what lay on the table: it proves nothing about that, so what is prepared by it is unproven until another label with its package confirms it.',
  );

const fileSystemsOfPanels = ['fat12', 'fat16', 'fat32', 'exfat', 'ntfs'] as const;

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
  'takes-downgrade': z
    .boolean()
    .optional()
    .describe('Whether it takes a build older than the running one, as the maker says; left out where nobody says.'),
  port: z.string().describe('Which port of the panel takes the stick.'),
  steps: z.array(z.string()).default([]).describe("What to do at the panel, in order, after the maker's document."),
  cautions: z.array(z.string()).optional().describe('What to mind at the panel: waits, heights, mains, data.'),
  minutes: z
    .strictObject({ from: z.number().positive(), to: z.number().positive() })
    .refine(({ from, to }) => from <= to, { error: 'from is longer than to' })
    .optional()
    .describe('How long the panel takes, as the maker states it.'),
  never: z
    .array(z.string())
    .optional()
    .describe('What nobody may do at the panel meanwhile; instead of the usual list.'),
  after: z
    .array(z.string())
    .optional()
    .describe('What to check when the panel has started again; instead of the usual list.'),
});

/** The one definition of a family file: it validates, it types, and the published JSON Schema is made from it. */
export const familySchema = z.strictObject({
  $schema: z.string().optional().describe('For editors; not read.'),
  schema: z.literal(1),
  family: z
    .string()
    .regex(/^[a-z0-9][a-z0-9-]*$/, { error: 'only small letters, digits and dashes make a short name' })
    .describe('Short name, unique in the folder.'),
  title: z.string().min(1),
  label: labelGrammar,
  packages: z.array(packageGrammar).min(1).describe('Tried in order; the first that reads a file name counts.'),
  build: buildRules,
  bridges: z.array(bridge).optional(),
  'published-hash': z
    .enum(['expected', 'none'])
    .default('expected')
    .describe('none: the maker publishes no checksums, so their absence is not held against a stick.'),
  'made-from': madeFrom.optional(),
  devices: z
    .array(z.string().min(1))
    .optional()
    .describe("Device names (pre-device) of the family's update packages; a package for none of them is stopped."),
  signers: z
    .array(z.string().regex(/^[0-9a-fA-F]{64}$/))
    .optional()
    .describe('SHA-256 fingerprints of the certificates that sign the packages; any other signer is stopped.'),
  'over-the-air': overTheAir.optional(),
  modes: z.partialRecord(z.enum(modes), modeRules),
});

export type FamilyFile = z.output<typeof familySchema>;

export type Family = FamilyFile & {
  /** Where it was read from; for messages. */
  readonly source: string;
  /** SHA-256 of the file's bytes, lower hex. */
  readonly sha256: string;
  /** The lines of the patterns in the file, from 1; for messages. */
  readonly lines?: { readonly label: number; readonly packages: readonly number[] };
};

/** What is needed to read a text into parts: a label's or a package's, or one that travelled in a manifest. */
export interface Grammar {
  readonly pattern: string;
  readonly absent: Readonly<Record<string, string>>;
}

export type Bridge = z.output<typeof bridge>;

export type ModeRules = z.output<typeof modeRules>;

/** What is wrong with a family beyond its shape; `path` leads to the place in the file. */
export type FamilyProblem = { readonly path: readonly (string | number)[] } & (
  | { readonly kind: 'pattern'; readonly what: string; readonly todo: string; readonly offset: number }
  | { readonly kind: 'example'; readonly text: string; readonly expected: string; readonly cameOut: string }
  | { readonly kind: 'part' | 'build'; readonly what: string; readonly todo: string }
);
