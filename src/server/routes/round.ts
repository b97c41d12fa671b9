import { Hono } from 'hono';
import * as z from 'zod';
import type { Desk } from '../desk.ts';
import { bodyOf } from './body.ts';
import { roundListRoutes } from './round-list.ts';

/** A round from its list to its export. */
export const roundRoutes = (desk: Desk): Hono =>
  new Hono()
    .get('/', async (context) => context.json(await desk.rounds.seen()))
    .post('/choose', async (context) => {
      const { place } = await bodyOf(context, z.object({ place: z.string().max(4096) }));
      await desk.rounds.choose(place);
      desk.tell({ event: 'changed', what: 'round' });
      return context.json({});
    })
    .route('/list', roundListRoutes(desk));
