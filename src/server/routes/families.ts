import { Hono } from 'hono';
import * as z from 'zod';
import { nextOfFamily } from '../../core/guide/family-course.ts';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import { familyFolder } from '../../io/families/family-folder.ts';
import { openDraft } from '../../io/files/drafts.ts';
import { familyDocument, familyNewDocument } from '../../render/json/stick-documents.ts';
import { checkGivenFamily, makeFamily, proposeNewFamily } from '../../workflows/make-family.ts';
import type { Desk } from '../desk.ts';
import { bodyOf, refusal } from './body.ts';

const answers = z.record(z.string().max(200), z.string().max(2000));
const made = z.object({ answers, write: z.boolean() });
const given = z.object({ name: z.string().max(200), text: z.string().max(200_000), write: z.boolean() });

/** Families of this desk: made by example, or taken from a colleague. Both are shown first, and then written. */
export function familyRoutes(desk: Desk): Hono {
  const here = async () => familyFolder(await desk.parts.familyFolder());
  /** The same that the command keeps, so that either goes on where the other stopped. */
  const draft = () => openDraft('family-new');
  const changed = (): void => desk.tell({ event: 'changed', what: 'desk' });
  return new Hono()
    .get('/draft', async (context) => context.json((await draft()).answers))
    .put('/draft', async (context) => {
      await (await draft()).keep(await bodyOf(context, answers));
      return context.json({});
    })
    .post('/new', async (context) => {
      const order = await bodyOf(context, made);
      const next = nextOfFamily(order.answers, desk.parts.who);
      if (next.step !== 'propose') throw refusal(400, 'Something is still to be answered.');
      const report = await (order.write ? makeFamily : proposeNewFamily)(next.examples, await here());
      if ('because' in report) throw refusal(409, `No pattern reads these examples: ${report.because}.`);
      if (report.path !== undefined) {
        await (await draft()).drop();
        changed();
      }
      return context.json(familyNewDocument(report, exitCodeOf(report.verdict)));
    })
    .post('/add', async (context) => {
      const { name: fileName, text, write } = await bodyOf(context, given);
      const folder = await here();
      const file = folder.read(fileName.replace(/\.ya?ml$/i, ''), text);
      const { name, ...report } = await checkGivenFamily(file, fileName, folder);
      if (write && report.verdict !== 'not-ready') {
        await folder.write(name, text);
        changed();
      }
      return context.json({ ...familyDocument(report, exitCodeOf(report.verdict)), verdict: report.verdict });
    });
}
