import * as z from 'zod';
import { type DocumentReading, parseDocument, type Sha256, withOwnDigest } from '../documents/own-digest.ts';
import { severities } from '../model/catalogue-entry.ts';
import { foldName } from '../volume-format/fat-name.ts';
import { longestNote, longestSource, packageNameProblem } from './newcomer-rules.ts';

const sha256 = z.string().regex(/^[0-9a-f]{64}$/);

const seen = z.strictObject({
  code: z.string(),
  severity: z.enum(severities),
  subject: z.string(),
  title: z.string(),
  seen: z.string(),
  acceptedBecause: z.string().optional().describe('Why a person accepted this stop when the package was added.'),
});

/**
 * What the shelf remembers of one package. Written once, beside the package, and never changed. The published JSON
 * Schema is made from this definition.
 */
export const shelfRecordSchema = z.strictObject({
  schema: z.literal('stickwright/shelf-record/1'),
  name: z
    .string()
    .refine((name) => packageNameProblem(name) === undefined, { message: 'a file name that a stick can carry' })
    .describe('The file name under which it was downloaded; the panel may insist on it.'),
  bytes: z.number().int().nonnegative(),
  sha256: sha256.describe('Of the whole file.'),
  directorySha256: sha256,
  addedAt: z.iso.datetime({ offset: true }).describe('RFC 3339.'),
  tool: z.strictObject({ name: z.literal('stickwright'), version: z.string() }),
  family: z.string().nullable().describe('The one family that read the name when it was added.'),
  build: z.string().nullable().describe('As the name states it.'),
  from: z
    .string()
    .max(longestSource)
    .nullable()
    .describe('Where it was downloaded, as the person said; never fetched.'),
  note: z.string().max(longestNote).nullable().describe("The maker's release note, or what the person wrote."),
  signature: z.strictObject({
    state: z
      .enum(['none', 'intact', 'unchecked'])
      .describe('intact: it verifies with the certificate named here. unchecked: it could not be verified.'),
    fingerprint: sha256.nullable().describe("SHA-256 of the signer's certificate."),
    subject: z.string().nullable(),
  }),
  result: z.strictObject({
    verdict: z.enum(['ready', 'unproven']).describe('Of the inspection when it was added.'),
    findings: z.array(seen),
  }),
  selfSha256: sha256.describe('SHA-256 over the RFC 8785 form of all other members.'),
});

export type ShelfRecord = z.infer<typeof shelfRecordSchema>;

/** A package on the shelf. `id` is unique among all that ever lay there; `path` leads to the file. */
export interface ShelvedPackage {
  readonly id: string;
  readonly path: string;
  readonly record: ShelfRecord;
}

/** Names that a person, or a desk's file system, takes for one: without regard to case and Unicode form. */
export const alikeName = (name: string): string => foldName(name.normalize('NFC'));

/** Adds the digest that lets any later reader see whether the record is whole. */
export const shelfRecordWithDigest = (record: Omit<ShelfRecord, 'selfSha256'>, sha256: Sha256): ShelfRecord =>
  withOwnDigest(record, sha256);

export const serialiseShelfRecord = (record: ShelfRecord): string => `${JSON.stringify(record, null, 2)}\n`;

/** Reads a record's text; it is whole only if its own digest matches. Never throws on bad text. */
export const parseShelfRecord = (text: string, sha256: Sha256): DocumentReading<ShelfRecord> =>
  parseDocument(text, 'shelf-record', { 1: shelfRecordSchema }, sha256);
