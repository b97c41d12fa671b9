import * as z from 'zod';
import { severities } from './catalogue-entry.ts';
import { modes } from './mode.ts';

const sha256 = z.string().regex(/^[0-9a-f]{64}$/);
const text = z.string().nullable();

const said = z.strictObject({
  code: z.string(),
  severity: z.enum(severities),
  subject: z.string(),
  title: z.string(),
  seen: z.string(),
  why: z.string(),
  todo: z.string(),
});

const statesOfFirst = ['up-to-date', 'update', 'stopped', 'cannot-tell'] as const;
const roomStates = [...statesOfFirst, 'over-the-air'] as const;

/**
 * `update`: by stick. `over-the-air`: it updates itself, and somebody looks later. `stopped`: known, and it must not be
 * done so (a downgrade, a wipe nobody approved). `cannot-tell`: something is missing or unclear.
 */
export type RoomState = (typeof roomStates)[number];

const roundRoom1 = z.strictObject({
  key: z.string().describe('Unique in the round.'),
  room: z.string(),
  row: z.number().int().positive().describe('In the room list, from 1.'),
  label: z.string().describe('As the list writes it.'),
  serial: text,
  asset: text,
  notes: text,
  running: text,
  state: z.enum(statesOfFirst),
  mode: z.enum(modes),
  wipes: z.boolean().describe('The update erases everything on this panel.'),
  approval: text.describe('Who approved the wipe.'),
  target: text.describe('The build that the panel has after the last step; null where there is none.'),
  steps: z
    .array(z.strictObject({ load: z.string(), build: z.string(), because: text }))
    .describe('One stick after the other: bridges first. Empty unless the state is update.'),
  findings: z.array(said),
});

const way = z
  .strictObject({
    way: z.enum(['over-the-air', 'stick', 'stop-and-ask']),
    reason: z.string(),
    todo: z.array(z.string()).describe('In order: what to switch on, when to look again; or whom to ask what.'),
    answers: z.record(z.string(), z.string()).describe('What the list says that the panel can still do, by field.'),
    family: text.describe('Short name of the family that reads its label; null where none does.'),
  })
  .describe('Which way, by what the list says that the panel can still do; left out where it asks for a mode.');

const roundRoom = roundRoom1.extend({ state: z.enum(roomStates), way: way.optional() });

const load1 = z.strictObject({
  id: z.string().describe('A, B, …; the order in which to prepare.'),
  package: z.strictObject({
    id: z.string().describe('On the shelf.'),
    name: z.string(),
    sha256,
    bytes: z.number().int().nonnegative(),
    build: z.string(),
  }),
  mode: z.enum(modes),
  wipes: z.boolean(),
  family: z.string(),
  familyTitle: z.string(),
  variant: z.record(z.string(), z.string()).describe('The parts that must agree with a label.'),
  label: z.string().describe('A label of one of its rooms, to prepare the stick with.'),
  rooms: z.array(z.string()).min(1).describe('Keys, in the order of the list.'),
  panel: z
    .strictObject({
      port: z.string(),
      minutes: z.strictObject({ from: z.number(), to: z.number() }).nullable(),
      steps: z.array(z.string()),
      cautions: z.array(z.string()),
      never: z.array(z.string()),
      after: z.array(z.string()),
    })
    .describe('What to do at the panel: the family file of that day.'),
});

const load = load1.extend({
  unproven: z.array(z.string()).describe('Codes of what the shelf could not prove of the package on that day.'),
});

const turn = z.strictObject({
  stick: z.number().int().positive().describe('The stick, from 1.'),
  load: z.string(),
  room: z.string().nullable().describe('null: the stick is prepared at the desk.'),
  startMinute: z.number().nonnegative(),
  endMinute: z.number().nonnegative(),
});

const frame = {
  plannedAt: z.iso.datetime({ offset: true }).describe('RFC 3339.'),
  tool: z.strictObject({ name: z.literal('stickwright'), version: z.string() }),
  list: z.strictObject({
    path: z.string().describe('As given; a copy lies in the folder of the round.'),
    copy: z.string().describe('Name of that copy.'),
    sha256,
    sheet: z.string().optional().describe('Of a workbook, where it is not the first that is not hidden.'),
    columns: z.record(z.string(), z.number().int().nonnegative()).describe('Field to column, from 0.'),
    unused: z
      .array(
        z.strictObject({
          row: z.number().int().positive(),
          why: z.enum(['unusable', 'repeated', 'no-room']),
          room: z.string(),
          reason: z.string(),
        }),
      )
      .optional()
      .describe('Rows that hold something and are no room of the round; absent in plans that did not keep them.'),
  }),
  mode: z.enum(modes).describe('For rooms that the list asks no mode for.'),
  shelf: z.string().describe('Folder of the shelf.'),
  families: z.array(z.string()).describe('Files or folders that were named; empty means the usual places.'),
  schedule: z.strictObject({
    sticks: z.number().int().nonnegative(),
    setUpMinutes: z.number().nonnegative().describe('To prepare one stick at the desk; the longest of the loads.'),
    turns: z.array(turn),
    totalMinutes: z.number().nonnegative(),
  }),
};

/** As version 0.1.0 kept it: without a digest, and without what the shelf could not prove. */
export const round1Schema = z.strictObject({
  schema: z.literal('stickwright/round/1'),
  ...frame,
  rooms: z.array(roundRoom1),
  loads: z.array(load1),
});

/**
 * A planned round: which rooms want what, which loads that makes, and in which order the sticks go round. A load is
 * what one stick carries: one package in one mode. Written whole and replaced whole; what was done lies in the records
 * beside it. The published JSON Schema is made from this definition.
 */
export const roundSchema = z.strictObject({
  schema: z.literal('stickwright/round/2'),
  ...frame,
  rooms: z.array(roundRoom),
  loads: z.array(load).describe('As many sticks as there are entries are the fewest that do.'),
});

/** As it lies in the folder of the round. */
export const roundFileSchema = roundSchema.extend({
  selfSha256: sha256.describe(
    'SHA-256 over the RFC 8785 form of all other members: nothing that was edited is believed.',
  ),
});

export type Round = z.infer<typeof roundSchema>;
export type RoundRoom = Round['rooms'][number];
export type Load = Round['loads'][number];
export type Turn = Round['schedule']['turns'][number];
