import { Hono } from 'hono';
import * as z from 'zod';
import type { Desk } from '../desk.ts';
import { bodyOf } from './body.ts';

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
    .delete('/', async (context) => {
      await (await desk.draft()).drop();
      desk.tell({ event: 'changed', what: 'slip' });
      return context.json({});
    });
