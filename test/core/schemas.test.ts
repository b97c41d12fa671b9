import { describe, expect, it } from 'vitest';
import * as z from 'zod';
import { manifestSchema, sealSchema } from '../../src/core/model/manifest.ts';
import { round1Schema, roundFileSchema } from '../../src/core/model/round.ts';
import { roundRecordSchema } from '../../src/core/model/round-record.ts';
import { reportSchema } from '../../src/core/report/report-schema.ts';
import { shelfRecordSchema } from '../../src/core/shelf/shelf-record.ts';

/** `npm run schema` writes these files anew. */
const published = {
  manifest: { schema: manifestSchema, title: 'What lies beside the firmware on a prepared stick' },
  seal: { schema: sealSchema, title: 'What lies beside a manifest that a desk has sealed' },
  'shelf-record': { schema: shelfRecordSchema, title: 'What the shelf remembers of a package' },
  round: {
    schema: z.discriminatedUnion('schema', [roundFileSchema, round1Schema]),
    title: 'The plan of a round, as its folder keeps it',
  },
  'round-record': { schema: roundRecordSchema, title: 'One line of what was done in a round' },
  report: { schema: reportSchema, title: 'What --json prints' },
};

describe('the published JSON Schemas', () => {
  for (const [name, { schema, title }] of Object.entries(published)) {
    it(`${name} is made from the definition that validates`, async () => {
      const made = { title, ...z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }) };
      await expect(`${JSON.stringify(made, null, 2)}\n`).toMatchFileSnapshot(
        `../../samples/schemas/${name}.schema.json`,
      );
    });
  }
});
