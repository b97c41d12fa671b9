import { Hono } from 'hono';
import * as z from 'zod';
import { judgeDesk, verdictOfDesk } from '../../core/guide/judge-desk.ts';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import { settingNamed, settings } from '../../core/model/settings.ts';
import type { WorkSeen } from '../../core/report/window-talk.ts';
import { type SettingRefused, setSetting, unsetSetting } from '../../io/files/change-settings.ts';
import { lookAtDesk } from '../../io/files/look-at-desk.ts';
import { makeSeal, sealOf } from '../../io/files/seal-facts.ts';
import { deskDocument } from '../../render/json/stick-documents.ts';
import { errorInSentences } from '../../render/text/render-findings.ts';
import type { Desk } from '../desk.ts';
import type { WorkKind } from '../desk-at-hand.ts';
import { settingsSeen, wordsAsVariables } from '../settings-held.ts';
import { bodyOf, refusal } from './body.ts';

const order = z.object({
  name: z.enum(settings.map(({ name }) => name)),
  /** Null: taken back. */
  values: z.array(z.string().max(4096)).max(100).nullable(),
});

/** What there is on this machine, and what it says once. A drive or a folder may hang, so both are done elsewhere. */
export function setUpRoutes(desk: Desk): Hono {
  let look: Promise<WorkSeen> | undefined;
  let change: Promise<unknown> = Promise.resolve();
  return (
    new Hono()
      /** Several who ask at once get one look. */
      .post('/check', async (context) => {
        look ??= desk.work.quietly(checkingDesk, {}, []).finally(() => {
          look = undefined;
        });
        return context.json(answerOf(await look));
      })
      .get('/settings', (context) => {
        desk.useSettings();
        return context.json(settingsSeen(desk.parts.words));
      })
      /** One after the other: each change writes the file whole. */
      .put('/settings', async (context) => {
        const wanted = await bodyOf(context, order);
        const changing = change.then(() => desk.work.quietly(changingSetting, wanted, []));
        change = changing.catch(() => {});
        const { because, todo } = answerOf(await changing) as Partial<SettingRefused>;
        if (because !== undefined) throw refusal(409, `${because} ${todo}`);
        desk.useSettings();
        // One that is under way saw what was before.
        look = undefined;
        return context.json(settingsSeen(desk.parts.words));
      })
      .get('/seal', async (context) => context.json(answerOf(await desk.work.quietly(showingSeal, {}, []))))
      .post('/seal', async (context) => {
        const made = answerOf(await desk.work.quietly(makingSeal, {}, []));
        look = undefined;
        desk.tell({ event: 'changed', what: 'desk' });
        return context.json(made);
      })
  );
}

function answerOf({ answer, error }: WorkSeen): object {
  if (error !== undefined) throw refusal(409, errorInSentences(error));
  return answer ?? {};
}

export const checkingDesk: WorkKind<object> = {
  kind: 'check-desk',
  run: async ({ parts: { words } }) => {
    const found = await lookAtDesk({ ...process.env, ...wordsAsVariables(words) });
    const items = judgeDesk(found, process.platform);
    const verdict = verdictOfDesk(items);
    return deskDocument(verdict, items, exitCodeOf(verdict));
  },
};

/** What there is of a key; nothing where there is none. */
export const showingSeal: WorkKind<object> = { kind: 'seal show', run: async () => ({ ...sealOf(process.env) }) };

export const makingSeal: WorkKind<object> = { kind: 'seal new', run: async () => makeSeal(process.env) };

/** A page lies in no folder: where a path begins must be said. */
export const changingSetting: WorkKind<z.output<typeof order>> = {
  kind: 'settings',
  run: async (_, { name, values }) => {
    const setting = settingNamed(name);
    if (setting === undefined) throw new Error(`no setting is called ${name}`);
    if (values !== null) return (await setSetting(setting, values, undefined)) ?? {};
    await unsetSetting(setting);
    return {};
  },
};
