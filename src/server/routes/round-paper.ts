import { Hono } from 'hono';
import * as z from 'zod';
import { readKeptList } from '../../io/rounds/copy-list.ts';
import { localTime } from '../../io/rounds/local-time.ts';
import { newPocketId, newPocketSecret } from '../../io/rounds/pocket-files.ts';
import { pocketFileName, readPocketPage } from '../../io/rounds/pocket-page.ts';
import { noPlan } from '../../io/rounds/rounds.ts';
import { writeCsv } from '../../io/rounds/write-export.ts';
import { renderPocket } from '../../render/html/render-pocket.ts';
import { renderRoundPages } from '../../render/html/render-round-pages.ts';
import { renderRoundReport } from '../../render/html/render-round-report.ts';
import { findingsOf } from '../../render/json/to-json.ts';
import { makeRoundPocket } from '../../workflows/round-pocket.ts';
import { exportRound } from '../../workflows/round-status.ts';
import type { DeskAtHand } from '../desk-at-hand.ts';
import type { Printing } from '../paper.ts';
import { bodyOf } from './body.ts';

const sheet = z.object({
  what: z.enum(['cards', 'tags', 'cover', 'report']),
  paper: z.enum(['a5', 'a6']).default('a5'),
  /** Keys; empty means all. */
  rooms: z.array(z.string().max(1_000)).max(50_000).default([]),
});

const pocket = z.object({
  who: z.string().trim().min(1).max(200),
  /** Numbers of the plan's sticks; empty means all rooms. */
  sticks: z.array(z.number().int().min(1).max(10_000)).max(10_000).default([]),
});

/** Cards, tags, cover and report, each at an address of its own to be printed from; and the filled list. */
export function roundPaperRoutes(desk: DeskAtHand, paper: Printing): Hono {
  /** One of the two that an export writes, as bytes. */
  const exported = async (kind: 'csv' | 'report'): Promise<Uint8Array> => {
    const round = await desk.rounds.desk();
    let bytes = new Uint8Array();
    await exportRound(
      { csv: kind === 'csv' ? kind : undefined, report: kind === 'report' ? kind : undefined },
      {
        ...round,
        now: () => localTime(new Date(round.now())),
        keptList: (plan) => readKeptList(round.folder, plan),
        writeCsv: (rows, form) => writeCsv(rows, form).bytes,
        renderReport: renderRoundReport,
        write: async (_, written) => {
          bytes = new Uint8Array(written);
        },
      },
    );
    return bytes;
  };
  return (
    new Hono()
      .post('/', async (context) => {
        const { what, paper: size, rooms } = await bodyOf(context, sheet);
        if (what === 'report') {
          const page = new TextDecoder().decode(await exported('report'));
          return context.json({ address: paper.addressOf(page), findings: [] });
        }
        const folder = await desk.rounds.planned();
        const plan = await folder.plan();
        if (plan === undefined) throw noPlan(folder.place);
        const { records } = await folder.records();
        const made = renderRoundPages(plan, records, size, rooms.length === 0 ? undefined : new Set(rooms));
        const page = made.files.find(({ name }) => name === what)?.page ?? '';
        return context.json({ address: paper.addressOf(page), findings: findingsOf(made.findings) });
      })
      /** One file for a phone; the page saves it, nothing of it is kept here but its id. */
      .post('/pocket', async (context) => {
        const { who, sticks } = await bodyOf(context, pocket);
        const page = await readPocketPage();
        const name = pocketFileName(who);
        let html = '';
        const report = await makeRoundPocket(
          { who, rooms: new Set(), sticks },
          {
            ...(await desk.rounds.desk()),
            newPocket: () => ({ id: newPocketId(), secret: newPocketSecret() }),
            renderPocket: (made) => new TextEncoder().encode(renderPocket(made, page)),
            write: async (bytes) => {
              html = new TextDecoder().decode(bytes);
              return name;
            },
          },
        );
        return context.json({ name, html, findings: findingsOf(report.findings) });
      })
      .get('/list', async (context) =>
        context.body(new Uint8Array(await exported('csv')), 200, { 'content-type': 'text/csv' }),
      )
  );
}
