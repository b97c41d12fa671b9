import * as z from 'zod';
import { modes } from './mode.ts';

const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
const parts = z.record(z.string(), z.string());
const stickPath = z
  .string()
  .min(1)
  .max(1024)
  .refine(
    (path) => !path.startsWith('/') && !path.split('/').some((part) => part === '' || part === '.' || part === '..'),
    {
      message: 'a path below the root of the stick, with / between its parts',
    },
  );

const manifestFileSchema = z.strictObject({ path: stickPath, bytes: z.number().int().nonnegative(), sha256 });

const members = {
  stick: z.string().describe('Code of this stick, for its tag.'),
  preparedAt: z.iso.datetime({ offset: true }).describe('RFC 3339.'),
  tool: z.strictObject({ name: z.literal('stickwright'), version: z.string() }),
  mode: z.enum(modes),
  keepsData: z.boolean().describe('false: the update wipes the panel.'),
  label: z.strictObject({
    text: z.string().describe('As the person typed it.'),
    normalised: z.string(),
    parts: parts.nullable().describe('null where no family read the label.'),
  }),
  family: z
    .strictObject({
      name: z.string(),
      title: z.string(),
      sha256: sha256.describe('Of the family file.'),
      label: z
        .strictObject({ pattern: z.string(), absent: parts })
        .describe('The grammar, so that a label can be compared without the family file.'),
      onlyTheseAtRoot: z.boolean(),
    })
    .nullable(),
  archive: z.strictObject({
    name: z.string(),
    bytes: z.number().int().nonnegative(),
    sha256,
    directorySha256: sha256,
    build: z.string().nullable(),
    parts: parts.nullable().describe('What the package name says; null where no family read it.'),
    agree: z.array(z.string()).describe('The parts that must equal the label.'),
  }),
  files: z.array(manifestFileSchema).min(1).describe('Every firmware file, sorted by path.'),
  folders: z.array(stickPath).describe('Every firmware folder, also an empty one.'),
  untouched: z
    .array(z.strictObject({ path: stickPath, bytes: z.number().int().nonnegative() }))
    .describe("What else was at the root and stayed there: somebody's files."),
  setAside: z.array(z.strictObject({ path: stickPath, to: stickPath })),
  removed: z.array(stickPath),
  volume: z.strictObject({
    fileSystem: z.string(),
    clusterBytes: z.number().int().positive().nullable(),
    volumeBytes: z.number().int().nonnegative(),
    serial: z.string().nullable(),
    label: z.string().nullable(),
    partitionTable: z.string(),
  }),
  overrides: z
    .array(z.strictObject({ code: z.string(), subject: z.string(), because: z.string() }))
    .describe('Stops that a person accepted, and why; every later check repeats them.'),
  unproven: z.array(z.strictObject({ code: z.string(), subject: z.string() })).describe('What could not be checked.'),
  readBack: z.enum(['medium', 'cache']).describe('Where the bytes came from when everything was read back.'),
};
const selfSha256 = sha256.describe('SHA-256 over the RFC 8785 form of all other members.');

/**
 * As version 0.1.0 wrote it: a doubt that came from the shelf may be missing in it, and what lies beside it is not
 * named.
 */
export const manifest1Schema = z.strictObject({ schema: z.literal('stickwright/manifest/1'), ...members, selfSha256 });

export const manifest2Schema = z.strictObject({
  schema: z.literal('stickwright/manifest/2'),
  ...members,
  record: z
    .array(manifestFileSchema)
    .describe('The checksum list and the note beside this manifest: they are checked as the firmware is.'),
  sealedBy: z
    .string()
    .nullable()
    .describe('Name of the key that sealed this manifest; null where the desk had none. A seal must lie beside it.'),
  selfSha256,
});

/**
 * What lies beside the firmware on a prepared stick. It says for which panel, from which archive, what exactly is
 * there, what a person decided, and what nobody could prove. The published JSON Schema is made from this definition;
 * version 2 is written, version 1 is read.
 */
export const manifestSchema = z.discriminatedUnion('schema', [manifest2Schema, manifest1Schema]);

export type Manifest = z.infer<typeof manifestSchema>;
/** As it is written today. */
export type Manifest2 = z.infer<typeof manifest2Schema>;
export type ManifestFile = Manifest['files'][number];

const base64 = z.string().regex(/^[A-Za-z0-9+/]+={0,2}$/);

/**
 * What lies beside a manifest that a desk has sealed. The published JSON Schema is made from this definition.
 */
export const sealSchema = z.strictObject({
  schema: z.literal('stickwright/seal/1'),
  algorithm: z.literal('Ed25519').describe('RFC 8032.'),
  publicKey: base64.max(200).describe("The desk's public key: SubjectPublicKeyInfo (RFC 8410) in DER, base64."),
  signature: base64
    .max(200)
    .describe(
      'Over the UTF-8 bytes of "stickwright/seal/1", a line feed, and the RFC 8785 form of the manifest without selfSha256; base64.',
    ),
});

export type Seal = z.infer<typeof sealSchema>;
