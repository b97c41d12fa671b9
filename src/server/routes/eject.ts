import { Hono } from 'hono';
import * as z from 'zod';
import { ejectTarget } from '../../io/medium/eject-drive.ts';
import type { Desk } from '../desk.ts';
import { bodyOf, refusal } from './body.ts';

/** Lets go of a stick, and says whether it can be pulled. */
export const ejectRoutes = (desk: Desk): Hono =>
  new Hono().post('/', async (context) => {
    const { target } = await bodyOf(context, z.object({ target: z.string().max(4096) }));
    if (!desk.knowsTarget(target)) throw refusal(409, `${target} is not plugged in any more.`);
    if (desk.work.underWay.some((piece) => piece.seen().targets.includes(target)))
      throw refusal(409, `${target} is being worked on: wait for it, or stop it first.`);
    return context.json(await ejectTarget(target));
  });
