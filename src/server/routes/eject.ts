import { Hono } from 'hono';
import * as z from 'zod';
import { ejectTarget } from '../../io/medium/eject-drive.ts';
import { errorInSentences } from '../../render/text/render-findings.ts';
import type { Desk } from '../desk.ts';
import type { WorkKind } from '../desk-at-hand.ts';
import { bodyOf, refusal } from './body.ts';

const order = z.object({ target: z.string().max(4096) });

/** Lets go of a stick, and says whether it can be pulled. */
export const ejectRoutes = (desk: Desk): Hono =>
  new Hono().post('/', async (context) => {
    const { target } = await bodyOf(context, order);
    if (!desk.knowsTarget(target)) throw refusal(409, `${target} is not plugged in any more.`);
    if (desk.work.underWay.some((piece) => piece.shown.targets.includes(target)))
      throw refusal(409, `${target} is being worked on: wait for it, or stop it first.`);
    const { answer, error } = await desk.work.quietly(ejecting, { target }, [target]);
    if (error !== undefined) throw refusal(409, errorInSentences(error));
    return context.json(answer);
  });

export const ejecting: WorkKind<z.output<typeof order>> = {
  kind: 'eject',
  run: (_, { target }) => ejectTarget(target),
};
