import { Hono } from 'hono';
import * as z from 'zod';
import type { Manifest } from '../../core/model/manifest.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { renderSingleTags } from '../../render/html/render-tags.ts';
import type { Desk } from '../desk.ts';
import { bodyOf, refusal } from './body.ts';

/** What can be said to a piece of work, whatever it is: agreed, no, stop, out of sight. */
export function workRoutes(desk: Desk): Hono {
  const find = (id: string) => {
    const piece = desk.work.piece(id);
    if (piece === undefined) throw refusal(404, 'That work is not on the desk any more.');
    return piece;
  };
  return (
    new Hono()
      .post('/:id/agree', async (context) => {
        const { typed } = await bodyOf(context, z.object({ typed: z.string().max(1000).optional() }));
        const objection = await find(context.req.param('id')).agree(typed);
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
      /** The tag of a stick that carries its record now, to print. */
      .post('/:id/tag', async (context) => {
        const { target } = await bodyOf(context, z.object({ target: z.string().max(4096) }));
        const { answer } = find(context.req.param('id'));
        const manifest = manifestIn(answer, target);
        if (manifest === undefined) throw refusal(409, 'There is no tag for a stick that carries no record.');
        return context.json({ address: desk.paper.addressOf(renderSingleTags([manifest])) });
      })
      .delete('/:id', (context) => {
        const id = context.req.param('id');
        find(id);
        if (!desk.work.putAway(id)) throw refusal(409, 'It is still under way: stop it first.');
        return context.json({});
      })
  );
}

/** What a preparation left on one of its sticks. */
function manifestIn(answer: ReportDocument | undefined, target: string): Manifest | undefined {
  const sticks = (answer?.sticks ?? []) as readonly { target: string; state: string; manifest: Manifest | null }[];
  const stick = sticks.find((one) => one.target === target && (one.state === 'written' || one.state === 'unchanged'));
  return stick?.manifest ?? undefined;
}
