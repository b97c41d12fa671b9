import { Hono } from 'hono';
import * as z from 'zod';
import { severityOf, textsOf } from '../../core/findings/finding.ts';
import { slipOf } from '../../core/guide/slip.ts';
import { familyFolder } from '../../io/families/family-folder.ts';
import { makeFamily } from '../../workflows/make-family.ts';
import type { Desk } from '../desk.ts';
import { bodyOf, refusal } from './body.ts';

const answers = z.record(z.string().max(200), z.string().max(100_000));

/** What was written on the slip so far, for every page that is opened; kept in a file. */
export const slipRoutes = (desk: Desk): Hono =>
  new Hono()
    .get('/', async (context) => context.json((await desk.draft()).answers))
    .put('/', async (context) => {
      const given = await bodyOf(context, answers);
      await (await desk.draft()).keep(given);
      desk.tell({ event: 'changed', what: 'slip' });
      return context.json({});
    })
    /** The family of what lies on the table, from the answers that are kept: the page sends none of it. */
    .post('/family', async (context) => {
      const { families } = await desk.parts.families();
      const { answers: kept } = await desk.draft();
      const { table } = slipOf({ families, packages: await desk.packages(), who: desk.parts.who }, kept);
      if (table?.examples === undefined) throw refusal(409, 'Something is still to be answered for this family.');
      const made = await makeFamily(table.examples, familyFolder(await desk.parts.familyFolder()));
      if ('because' in made) throw refusal(409, `No pattern reads this label and this package: ${made.because}.`);
      const stop = made.findings.find((found) => severityOf(found) === 'stop');
      if (made.path === undefined)
        throw refusal(409, stop === undefined ? 'The family could not be written.' : inOneLine(textsOf(stop)));
      desk.tell({ event: 'changed', what: 'desk' });
      const { families: now } = await desk.parts.families();
      if (!now.some(({ family }) => family === table.examples?.family))
        throw refusal(
          409,
          `${made.path} was written, but the families in use come from elsewhere. Put it where they lie, then look at the packages again.`,
        );
      return context.json({ path: made.path });
    })
    .delete('/', async (context) => {
      await (await desk.draft()).drop();
      desk.tell({ event: 'changed', what: 'slip' });
      return context.json({});
    });

const inOneLine = ({ title, seen, todo }: ReturnType<typeof textsOf>): string => `${title}. ${seen} ${todo}`;
