import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { DeskEvent, WorkTold } from '../../src/core/report/window-talk.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { layDesk, type OpenDesk, openDesk } from '../fixtures/window/open-desk.ts';

/** The sample's list, below its heading, again and again: each time in another building. */
function manyRooms(count: number): string {
  const lines = readFileSync('samples/rooms/quillhaven.csv', 'utf8').trim().split('\n');
  const [head, rows] = [lines.slice(0, 4), lines.slice(4)];
  const many = Array.from(
    { length: count },
    (_, at) => `Annexe ${Math.floor(at / rows.length)} ${withoutSerial(rows[at % rows.length] ?? '')}`,
  );
  return [...head, ...many].join('\n');
}

/** Two rooms with one serial number are one too many. */
const withoutSerial = (row: string): string =>
  row
    .split(';')
    .map((cell, at) => (at === 3 || at === 4 ? '' : cell))
    .join(';');

describe('what takes long, beside what is quick', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  let desk: OpenDesk;
  let headers: Record<string, string>;
  beforeAll(async () => {
    desk = await openDesk(await layDesk(scratch, { sticks: 1 }));
    const { hash } = new URL(desk.address);
    const came = await fetch(`${desk.origin}/enter`, {
      method: 'POST',
      body: JSON.stringify({ secret: hash.slice(1) }),
    });
    const { token } = (await came.json()) as { token: string };
    headers = { cookie: came.headers.get('set-cookie')?.split(';')[0] ?? '', 'x-desk-token': token };
  }, 120_000);
  afterAll(async () => {
    await desk?.end();
    scratch.undo();
  });

  const ask = (method: string, path: string, body?: string): Promise<Response> =>
    fetch(`${desk.origin}${path}`, { method, headers, ...(body === undefined ? {} : { body }) });

  it('answers another page while a list of 2,000 rooms is read and planned', async () => {
    expect((await ask('POST', '/api/round/list?name=many.csv', manyRooms(2000))).status).toBe(200);
    const done: string[] = [];
    const long = ask('POST', '/api/round/list/plan', JSON.stringify({ mode: 'in-os', sticks: 4, isNew: true }));
    const longDone = long.then(() => done.push('the plan'));
    for (let time = 1; time <= 3; time += 1) {
      expect((await ask('GET', '/api/desk')).status).toBe(200);
      done.push('the desk');
    }
    await longDone;
    expect(done).toEqual(['the desk', 'the desk', 'the desk', 'the plan']);
    const { plan } = (await (await ask('GET', '/api/round')).json()) as { plan: { rooms: readonly object[] } };
    expect(plan.rooms.length).toBeGreaterThan(1000);
    // What the process of the rounds laid on the desk, the server has.
    const { round } = (await (await ask('GET', '/api/desk')).json()) as { round: string };
    expect(round).toContain('many.round');
  });

  it('tells a page each plan once, and one that comes later the whole of it', async () => {
    const [target = ''] = desk.sticks;
    expect((await ask('POST', '/api/sticks/format', JSON.stringify({ target, mode: 'recovery' }))).status).toBe(200);
    const first = await hearWork();
    const asks = await first.until(({ state, proposal }) => state === 'asks' && proposal !== undefined);
    expect(asks.proposal).toMatchObject({ command: 'format' });
    const later = await hearWork();
    const whole = await later.until(({ state }) => state === 'asks');
    expect(whole.proposal).toEqual(asks.proposal);
    // Something else is under way: both hear of everything again, and of this in short.
    expect((await ask('POST', '/api/shelf/check', '{}')).status).toBe(200);
    for (const page of [first, later]) {
      expect((await page.until(({ id, proposal }) => id === asks.id && proposal === 'as-before')).state).toBe('asks');
      page.leave();
    }
    expect((await ask('POST', `/api/work/${asks.id}/decline`, '{}')).status).toBe(200);
    const last = await hearWork();
    const over = await last.until(({ id, state }) => id === asks.id && state === 'done');
    expect([over.proposal, over.answer]).toMatchObject([undefined, { command: 'format' }]);
    last.leave();
  });

  it('keeps of preparations the last alone: their answers name every file, and a desk is open for days', async () => {
    const { packages } = (await (await ask('GET', '/api/desk')).json()) as { packages: readonly { path: string }[] };
    const archivePath = packages.find(({ path }) => path.includes('1717_5B_second_K2'))?.path;
    const order = { archivePath, mode: 'in-os', label: 'K2-second 75/5B', targets: desk.sticks };
    const looked: string[] = [];
    for (let time = 1; time <= 3; time += 1) {
      const { id } = (await (await ask('POST', '/api/prepare', JSON.stringify(order))).json()) as { id: string };
      const page = await hearWork();
      const asksOrOver = await page.until((one) => one.id === id && one.state !== 'working');
      if (asksOrOver.state === 'asks') expect((await ask('POST', `/api/work/${id}/decline`, '{}')).status).toBe(200);
      await page.until((one) => one.id === id && one.state === 'done');
      page.leave();
      looked.push(id);
    }
    const putAway = await Promise.all(looked.map((id) => ask('DELETE', `/api/work/${id}`)));
    expect(putAway.map(({ status }) => status)).toEqual([404, 404, 200]);
  });

  /** What a page hears of the work. */
  async function hearWork() {
    const over = new AbortController();
    const { body } = await fetch(`${desk.origin}/api/events`, { headers, signal: over.signal });
    const chunks = body?.pipeThrough(new TextDecoderStream())[Symbol.asyncIterator]();
    let rest = '';
    const until = async (wanted: (one: WorkTold) => boolean): Promise<WorkTold> => {
      for (;;) {
        const lines = rest.split('\n');
        rest = lines.pop() ?? '';
        for (const line of lines.filter((one) => one.startsWith('data: {'))) {
          const event = JSON.parse(line.slice(6)) as DeskEvent;
          const found = event.event === 'work' ? event.work.find(wanted) : undefined;
          if (found !== undefined) return found;
        }
        const next = await chunks?.next();
        if (next?.done !== false) throw new Error('the desk fell silent');
        rest += next.value;
      }
    };
    return { until, leave: () => over.abort() };
  }
});
