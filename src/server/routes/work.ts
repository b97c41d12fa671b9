import { Hono } from 'hono';
import * as z from 'zod';
import type { Desk } from '../desk.ts';
import { bodyOf, refusal } from './body.ts';

/** What can be said to a piece of work, whatever it is: agreed, no, stop, out of sight. */
export function workRoutes(desk: Desk): Hono {
  const find = (id: string) => {
    const piece = desk.work.piece(id);
    if (piece === undefined) throw refusal(404, 'That work is not on the desk any more.');
    return piece;
  };
  return new Hono()
    .post('/:id/agree', async (context) => {
      const { typed } = await bodyOf(context, z.object({ typed: z.string().max(1000).optional() }));
      const objection = find(context.req.param('id')).agree(typed);
      if (objection !== undefined) throw refusal(409, objection);
      return context.json({});
    })
    .post('/:id/decline', (context) => {
      find(context.req.param('id')).decline();
      return context.json({});
    })
    .post('/:id/stop', (context) => {
      find(context.req.param('id')).stop();
      return context.json({});
    })
    .delete('/:id', (context) => {
      if (!desk.work.putAway(context.req.param('id'))) throw refusal(409, 'It is still under way: stop it first.');
      return context.json({});
    });
}
