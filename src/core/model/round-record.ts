import * as z from 'zod';
import { modes } from './mode.ts';

const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
const text = z.string().nullable();

const base = {
  schema: z.literal('stickwright/round-record/1'),
  id: z.uuid().describe('Unique among all desks; a line that arrives twice is one.'),
  at: z.iso.datetime({ offset: true }).describe('RFC 3339: when it was done, as far as the person says.'),
  notedAt: z.iso.datetime({ offset: true }).describe('RFC 3339: when it was written down.'),
  who: z.string().min(1).describe('Name or initials.'),
};
const selfSha256 = sha256.describe(
  'SHA-256 over the RFC 8785 form of all other members: a torn line is told from a whole one.',
);

const carried = {
  stick: text.describe('Code on the tag.'),
  package: z.strictObject({ name: z.string(), sha256, build: text }).nullable(),
  mode: z.enum(modes).nullable(),
};

const panel = {
  room: z.string().describe('Key of the room in the round.'),
  label: text,
  serial: text,
  asset: text,
};

const prepared = {
  ...base,
  kind: z.literal('prepared').describe('A stick was written, read back and tagged.'),
  ...carried,
  load: z.string().describe('Letter of the load in the plan of that day.'),
  target: z.string().describe('Where it was plugged in, or the image file.'),
};

const schema2 = z.literal('stickwright/round-record/2');

const record2Schema = z.discriminatedUnion('kind', [
  z.strictObject({
    ...prepared,
    schema: schema2,
    unproven: z.array(z.string()).describe('Codes of what could not be proven of the stick when it was prepared.'),
    selfSha256,
  }),
  z.strictObject({
    ...base,
    schema: schema2,
    kind: z.literal('looked').describe('Somebody looked whether a panel has updated itself; no stick was brought.'),
    ...panel,
    stick: z.null(),
    package: z.null(),
    mode: z.null(),
    outcome: z.enum(['done', 'failed', 'not-yet']).describe('not-yet: it still runs the build from before.'),
    buildBefore: text,
    buildAfter: text.describe('As the About page shows it.'),
    wiped: z.literal(false),
    text: text.describe('The exact words of its own update.'),
    selfSha256,
  }),
]);

const record1Schema = z.discriminatedUnion('kind', [
  z.strictObject({ ...prepared, selfSha256 }),
  z.strictObject({
    ...base,
    kind: z.literal('visit').describe('Somebody was at the panel.'),
    ...panel,
    ...carried,
    outcome: z.enum(['done', 'failed', 'skipped']),
    buildBefore: text,
    buildAfter: text.describe('As the About page shows it afterwards.'),
    wiped: z.boolean(),
    text: text.describe('The exact words on the screen, or why it was skipped.'),
    selfSha256,
  }),
  z.strictObject({
    ...base,
    kind: z.literal('approval').describe('A wipe was approved.'),
    ...panel,
    by: z.string().min(1),
    selfSha256,
  }),
  z.strictObject({
    ...base,
    kind: z.literal('returned').describe('A stick came back and was looked at.'),
    stick: z.string(),
    state: z.enum(['unchanged', 'visited', 'changed', 'unreadable']),
    left: z.array(z.string()).describe('What a panel left on it.'),
    cleared: z.boolean(),
    selfSha256,
  }),
  z.strictObject({
    ...base,
    kind: z.literal('withdrawn').describe('An earlier line was wrong. It stays, and no longer counts.'),
    withdraws: z.uuid(),
    because: z.string().min(1),
    selfSha256,
  }),
]);

/** What a line may be, by the version of its form. Of the second are prepared sticks, and looks without a stick. */
export const roundRecordShapes = { 1: record1Schema, 2: record2Schema };

/**
 * One line of what was done; the published JSON Schema is made from this definition. Lines are added, never changed.
 */
export const roundRecordSchema = z.union([record1Schema, record2Schema]);

export type RoundRecord = z.infer<typeof roundRecordSchema>;
export type RoundRecordOf<Kind extends RoundRecord['kind']> = Extract<RoundRecord, { readonly kind: Kind }>;
export type Visit = RoundRecordOf<'visit'> | RoundRecordOf<'looked'>;
