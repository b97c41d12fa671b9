import * as z from 'zod';
import { verdicts } from '../findings/finding.ts';
import { severities } from '../model/catalogue-entry.ts';

const finding = z.object({
  code: z.string(),
  severity: z.enum(severities),
  subject: z.string(),
  title: z.string(),
  seen: z.string(),
  why: z.string(),
  todo: z.string(),
  facts: z.unknown(),
  acceptedBecause: z.string().optional().describe('Why a person accepted this stop; it then counts as a caution.'),
  followsFrom: z.string().optional().describe('The code of the finding beside it that this one follows from.'),
});

/**
 * What `--json` puts on stdout: one document. The members named here stay; commands add their own (`archive`, `label`,
 * `sticks`, `stick`, `manifest`, `drives`, …).
 */
export const reportSchema = z.looseObject({
  schema: z.literal('stickwright/report/1'),
  command: z.string().nullable(),
  verdict: z.enum(verdicts).nullable(),
  exitCode: z.number().int(),
  findings: z
    .array(finding)
    .describe('About everything the command was given; those of one stick are with that stick.'),
  error: z
    .object({ code: z.string(), subject: z.string(), message: z.string(), todo: z.string() })
    .optional()
    .describe('Why there is no answer.'),
});

export type ReportDocument = z.input<typeof reportSchema>;
