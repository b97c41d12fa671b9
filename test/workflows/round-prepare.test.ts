import { randomInt, randomUUID } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeStickCode } from '../../src/core/manifest/stick-names.ts';
import type { Round } from '../../src/core/model/round.ts';
import type { PreparedStick } from '../../src/core/report/round-reports.ts';
import { type RoundRecordWithoutDigest, roundRecordWithDigest } from '../../src/core/rounds/records/own-digests.ts';
import { nodeDigesting } from '../../src/io/digest/node-digest.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
import type { RoundFolder } from '../../src/io/rounds/rounds.ts';
import { renderPreparedStick } from '../../src/render/text/render-round-prepare.ts';
import { prepareRound, type RoundPrepareRequest, type RoundPrepareRunning } from '../../src/workflows/round-prepare.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { testPorts } from '../fixtures/desk.ts';
import { makeSampleDesk, planSample, type SampleDesk } from '../fixtures/sample-round.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright round prepare-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let desk: SampleDesk;
let count = 0;
beforeAll(async () => {
  desk = await makeSampleDesk(folder);
});

/** A clock that moves on and codes that differ: two lines of one moment have no order. */
let minutes = 0;
const ports = {
  ...testPorts,
  now: () => new Date(Date.UTC(2026, 10, 2, 8, minutes++)).toISOString(),
  newStickCode: () => makeStickCode((below) => randomInt(below)),
};

const image = (name: string): Promise<string> =>
  makeFatImage(join(folder, `${name}-${count++}.img`), 64 * 2 ** 20, { kind: 'fat32', partitioned: true });

/** A round of its own: two loads that keep data and one that wipes. */
async function makeRound(sticks?: number): Promise<{ readonly round: Round; readonly to: RoundFolder }> {
  const list = join(folder, `list-${count++}.csv`);
  const rows = [
    'Room,Label,Running,Mode,Approval',
    'Hall,K2-second 75/5B,reed.746,,',
    'Gym,K2-second 75/5B,reed.746,,',
    'Loft,105 in 23X,982,,',
    'Shop,86 in 24P.M3,1047,recovery,M. Aldane',
  ];
  writeFileSync(list, `${rows.join('\n')}\n`);
  const to = openRound(join(folder, `round-${count++}.round`), 'M. Ferris');
  const { round } = await planSample(list, { ...desk, round: to }, { sticks, setUpMinutes: 20 });
  if (round === undefined) throw new Error('the list has rooms');
  return { round, to };
}

interface Wish extends Partial<RoundPrepareRequest>, Partial<RoundPrepareRunning> {}

async function run(round: Round, to: RoundFolder, targets: readonly string[], wish: Wish = {}) {
  const asked: string[] = [];
  const told: PreparedStick[] = [];
  const named = targets.values();
  const request: RoundPrepareRequest = {
    round,
    loads: [],
    who: 'M. Ferris',
    families: desk.families,
    familiesNamed: true,
    trusted: [],
    leftovers: 'stop',
    dryRun: false,
    agreed: true,
    accepted: new Map(),
    ...wish,
  };
  const report = await prepareRound(
    request,
    { ...ports, folder: to, shelf: desk.shelf, newId: randomUUID },
    {
      tell: () => {},
      signal: new AbortController().signal,
      propose: async () => {},
      agree: async () => true,
      nextStick: async ({ load, number }) => {
        asked.push(`${load.id}${number}`);
        return named.next().value;
      },
      mayReuse: async () => false,
      prepared: async (stick) => {
        told.push(stick);
        return false;
      },
      ...wish,
    },
  );
  return {
    report,
    asked,
    told,
    codes: report.sticks.map(({ code }) => code),
    left: report.left.map(({ load }) => load.id),
  };
}

const note = (to: RoundFolder, record: RoundRecordWithoutDigest) =>
  to.append([roundRecordWithDigest(record, nodeDigesting.sha256)]);

describe('stick after stick', () => {
  it('prepares each load in its order, says its tag, and records it when it is ready', async () => {
    const { round, to } = await makeRound();
    const targets = await Promise.all(['a', 'b', 'c', 'd'].map(image));
    const { report, asked, told, left } = await run(round, to, targets);
    expect(report.verdict).toBe('ready');
    expect(left).toEqual([]);
    expect(asked).toEqual(round.schedule.turns.filter(({ room }) => room === null).map(({ load }) => `${load}1`));
    const { records } = await to.records();
    expect(records).toHaveLength(asked.length);
    for (const stick of told) {
      const { load } = stick.preparation;
      const { manifest } = await verifyStick(
        { target: stick.target, label: load.label, quick: false, replugged: true },
        ports,
        {
          tell: () => {},
          signal: new AbortController().signal,
        },
      );
      expect(manifest).toMatchObject({ stick: stick.code, mode: load.mode, archive: { sha256: load.package.sha256 } });
      expect(records).toContainEqual(
        expect.objectContaining({ kind: 'prepared', stick: stick.code, load: load.id, who: 'M. Ferris' }),
      );
      const text = renderPreparedStick(stick, new Set(), { colour: false, columns: 80 });
      expect(text).toContain(`${stick.code}    load ${load.id}    ${load.mode}`);
      expect(text.includes('W I P E S')).toBe(load.wipes);
    }
    expect(told.map(({ preparation }) => preparation.load.wipes)).toEqual([false, false, true]);
  });

  it('goes on where it stopped, and says what is there already', async () => {
    const { round, to } = await makeRound();
    const first = await run(round, to, [await image('one')]);
    expect(first).toMatchObject({ left: ['B', 'C'] });
    const second = await run(round, to, [await image('two')]);
    expect(second.asked).toEqual(['B1', 'C1']);
    expect(second.report.findings.map(({ code }) => code)).toEqual(['round/load-ready']);
    const last = await run(round, to, [await image('three')]);
    expect([last.asked, last.left]).toEqual([['C1'], []]);
    const nothing = await run(round, to, [await image('four')]);
    expect([nothing.asked, nothing.report.verdict]).toEqual([[], 'ready']);
  });

  it('makes again what came back changed or was cleared, and nothing for rooms that are done', async () => {
    const { round, to } = await makeRound();
    const targets = await Promise.all(['r1', 'r2', 'r3'].map(image));
    const { codes } = await run(round, to, targets);
    const base = () =>
      ({
        schema: 'stickwright/round-record/1',
        id: randomUUID(),
        at: ports.now(),
        notedAt: ports.now(),
        who: 'M. Ferris',
      }) as const;
    const returned = (stick: string | undefined, state: 'unchanged' | 'changed', cleared: boolean) =>
      note(to, { ...base(), kind: 'returned', stick: stick ?? '', state, left: [], cleared });
    await returned(codes[0], 'unchanged', false);
    expect((await run(round, to, [])).asked).toEqual([]);
    await returned(codes[0], 'changed', false);
    expect((await run(round, to, [])).asked).toEqual(['A1']);
    await returned(codes[1], 'unchanged', true);
    expect((await run(round, to, [])).asked).toEqual(['A1']);
    const load = round.loads.find(({ id }) => id === 'A');
    for (const key of load?.rooms ?? []) {
      const { name, sha256, build } = load?.package ?? { name: '', sha256: '', build: '' };
      const panel = { room: key, label: null, serial: null, asset: null };
      await note(to, {
        ...base(),
        ...panel,
        kind: 'visit',
        stick: codes[0] ?? '',
        package: { name, sha256, build },
        mode: 'in-os',
        outcome: 'done',
        buildBefore: null,
        buildAfter: build,
        wiped: false,
        text: null,
      });
    }
    const over = await run(round, to, []);
    expect(over.report.findings.map(({ code }) => code)).toContain('round/load-done');
    expect(over.asked).toEqual(['B1']);
  });
});

describe('a stick that somebody may count on', () => {
  it('stops, asks, and is only written anew with a word', async () => {
    const { round, to } = await makeRound();
    const target = await image('out');
    const { codes } = await run(round, to, [target]);
    const refused = await run(round, to, [target]);
    expect(refused.report).toMatchObject({ verdict: 'not-ready' });
    expect(refused.told[0]?.findings).toMatchObject([
      { code: 'round/stick-still-out', facts: { code: codes[0], load: 'A' } },
    ]);
    expect((await to.records()).records).toHaveLength(1);
    const agreed = await run(round, to, [target], { mayReuse: async () => true, leftovers: 'remove' });
    expect(agreed.codes).toEqual([codes[0]]);
    // The old tag's load is missing again: the same stick cannot carry both.
    expect((await run(round, to, [])).asked).toEqual(['A1']);
  });

  it('is written without a word when it came back, or when its rooms are done', async () => {
    const { round, to } = await makeRound();
    const target = await image('back');
    const { codes } = await run(round, to, [target]);
    const at = ports.now();
    await note(to, {
      schema: 'stickwright/round-record/1',
      id: randomUUID(),
      at,
      notedAt: at,
      who: 'x',
      kind: 'returned',
      stick: codes[0] ?? '',
      state: 'unchanged',
      left: [],
      cleared: false,
    });
    const again = await run(round, to, [target], { leftovers: 'remove' });
    expect(again.codes).toEqual([codes[0]]);
  });
});

describe('what goes wrong with one stick', () => {
  it('does not stop the rest, and leaves no record of it', async () => {
    const { round, to } = await makeRound();
    const targets = [await image('ok'), join(folder, 'not there.img'), await image('ok2')];
    const { report, codes, left } = await run(round, to, targets);
    expect(codes.map((code) => code !== undefined)).toEqual([true, false, true]);
    expect(report.sticks[1]?.error).toMatchObject({ code: 'stick/not-found' });
    expect(left).toEqual(['B']);
    expect((await to.records()).records).toHaveLength(2);
  });

  it('ends between sticks when it is interrupted: what is recorded is right', async () => {
    const { round, to } = await makeRound();
    const end = new AbortController();
    const { report, left } = await run(round, to, [await image('i1'), await image('i2')], {
      signal: end.signal,
      prepared: async () => {
        end.abort(new Error('interrupted by SIGINT'));
        return false;
      },
    });
    expect(report.interrupted).toBe(true);
    expect(left).toEqual(['B', 'C']);
    expect((await to.records()).records).toHaveLength(1);
  });

  it('records a stick that was finished and not recorded, when the same command comes again', async () => {
    const { round, to } = await makeRound();
    const target = await image('lost');
    const lost = { ...to, append: async () => Promise.reject(new Error('the power went')) };
    await expect(run(round, lost, [target])).rejects.toThrow('the power went');
    const again = await run(round, to, [target]);
    expect(again.report.sticks[0]?.report?.sticks[0]?.state).toBe('unchanged');
    expect(again.codes[0]).toBeDefined();
    expect((await to.records()).records).toHaveLength(1);
  });

  it('takes another stick for the same load where the person wants to', async () => {
    const { round, to } = await makeRound();
    const { asked, codes } = await run(round, to, [join(folder, 'nothing'), await image('second')], {
      prepared: async ({ code }) => code === undefined,
      loads: ['A'],
    });
    expect(asked).toEqual(['A1', 'A1']);
    expect(codes.map((code) => code !== undefined)).toEqual([false, true]);
  });

  it('stops where the package or an approval is gone', async () => {
    const { round, to } = await makeRound();
    const gone: Round = {
      ...round,
      loads: round.loads.map((load) => ({ ...load, package: { ...load.package, name: `x${load.package.name}` } })),
    };
    const target = await image('gone');
    expect((await run(gone, to, [target])).told[0]?.findings).toMatchObject([{ code: 'round/package-gone' }]);
    const at = ports.now();
    const approval = {
      schema: 'stickwright/round-record/1',
      id: randomUUID(),
      at,
      notedAt: at,
      who: 'x',
      kind: 'approval',
      room: 'Shop',
      label: null,
      serial: null,
      asset: null,
      by: 'M. Aldane',
    } as const;
    await note(to, approval);
    await note(to, {
      schema: 'stickwright/round-record/1',
      id: randomUUID(),
      at: ports.now(),
      notedAt: at,
      who: 'x',
      kind: 'withdrawn',
      withdraws: approval.id,
      because: 'the head said no',
    });
    expect((await run(round, to, [target], { loads: ['C'] })).told[0]?.findings).toMatchObject([
      { code: 'round/approval-gone' },
    ]);
  });

  it('writes nothing on a dry run', async () => {
    const { round, to } = await makeRound();
    const { report, left } = await run(round, to, [await image('dry')], { dryRun: true });
    expect(report.sticks[0]?.report?.sticks[0]?.state).toBe('planned');
    expect(left).toEqual(['A', 'B', 'C']);
    expect((await to.records()).records).toEqual([]);
  });
});
