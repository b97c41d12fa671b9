import { Hono } from 'hono';
import * as z from 'zod';
import type { DeskAtHand } from '../desk-at-hand.ts';
import type { Printing } from '../paper.ts';
import { bodyOf } from './body.ts';
import { roundListRoutes } from './round-list.ts';
import { roundPaperRoutes } from './round-paper.ts';
import { roundPrepareRoutes } from './round-prepare.ts';
import { roundRecordRoutes } from './round-record.ts';

/** A round from its list to its export. */
export const roundRoutes = (desk: DeskAtHand, paper: Printing): Hono =>
  new Hono()
    .get('/', async (context) => context.json(await desk.rounds.seen()))
    .post('/choose', async (context) => {
      const { place } = await bodyOf(context, z.object({ place: z.string().max(4096) }));
      await desk.rounds.choose(place);
      desk.tell({ event: 'changed', what: 'round' });
      return context.json({});
    })
    .route('/list', roundListRoutes(desk))
    .route('/prepare', roundPrepareRoutes(desk))
    .route('/record', roundRecordRoutes(desk))
    .route('/paper', roundPaperRoutes(desk, paper));
