import { Hono } from 'hono';
import * as z from 'zod';
import { nextOfFamily } from '../../core/guide/family-course.ts';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import type { FamilyReport } from '../../core/report/reports.ts';
import { familyFiles, familyFolder } from '../../io/families/family-folder.ts';
import { openDraft } from '../../io/files/drafts.ts';
import { familyDocument, familyNewDocument } from '../../render/json/stick-documents.ts';
import {
  type FamilyChange,
  type NoChange,
  proposeConfirmation,
  proposeWidening,
} from '../../workflows/change-family.ts';
import { checkGivenFamily, makeFamily, proposeNewFamily } from '../../workflows/make-family.ts';
import type { Desk } from '../desk.ts';
import { bodyOf, refusal } from './body.ts';

const answers = z.record(z.string().max(200), z.string().max(2000));
const made = z.object({ answers, write: z.boolean() });
const widened = z.object({
  text: z.string().max(1000),
  /** The short name of the one to change. */
  family: z.string().max(200),
  write: z.boolean(),
});
const line = z.string().trim().min(1).max(1000);
const confirmed = z.object({ family: z.string().max(200), label: line, package: line, from: line });
const given = z.object({ name: z.string().max(200), text: z.string().max(200_000), write: z.boolean() });

/** Families of this desk: made by example, or taken from a colleague. Both are shown first, and then written. */
export function familyRoutes(desk: Desk): Hono {
  const here = async () => familyFolder(await desk.parts.familyFolder());
  /** The same that the command keeps, so that either goes on where the other stopped. */
  const draft = () => openDraft('family-new');
  /** Writes a change that nothing stops, and says what was found in it. */
  const take = async (command: FamilyReport['command'], next: FamilyChange | NoChange, write: boolean) => {
    if ('because' in next) throw refusal(409, `${next.because} ${next.todo}`);
    const { verdict, findings, families } = next;
    if (write && verdict !== 'not-ready') {
      await familyFiles.change(next.source, next.text);
      changed();
    }
    return familyDocument({ command, verdict, findings, families }, exitCodeOf(verdict));
  };
  const changed = (): void => desk.tell({ event: 'changed', what: 'desk' });
  return (
    new Hono()
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
      /** Shown first, then written; what would change is said by the page itself while the text is typed. */
      .post('/widen', async (context) => {
        const { text, family, write } = await bodyOf(context, widened);
        const { families } = await desk.parts.families();
        return context.json(
          await take('family widen', await proposeWidening(text, families, familyFiles, family), write),
        );
      })
      .post('/confirm', async (context) => {
        const { family, ...pair } = await bodyOf(context, confirmed);
        const { families } = await desk.parts.families();
        return context.json(
          await take('family confirm', await proposeConfirmation(family, pair, families, familyFiles), true),
        );
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
      })
  );
}
