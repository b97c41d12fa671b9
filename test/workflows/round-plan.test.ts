import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, test } from 'vitest';
import { roundSchema } from '../../src/core/model/round.ts';
import { makeCards } from '../../src/core/rounds/cards/make-cards.ts';
import { roundRecordWithDigest } from '../../src/core/rounds/records/own-digests.ts';
import { nodeDigesting } from '../../src/io/digest/node-digest.ts';
import { renderCards } from '../../src/render/html/render-cards.ts';
import { renderRoundPlan } from '../../src/render/text/render-round-plan.ts';
import { testPorts } from '../fixtures/desk.ts';
import { makeSampleDesk, planSample, type SampleDesk } from '../fixtures/sample-round.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright round plan-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let desk: SampleDesk;
beforeAll(async () => {
  desk = await makeSampleDesk(folder);
});

const listOf = (name: string, ...lines: readonly string[]): string => {
  const path = join(folder, name);
  writeFileSync(path, `${['Room,Label,Running,Serial,Asset,Notes,Mode,Approval', ...lines].join('\n')}\n`);
  return path;
};

describe('the plan of the sample district', () => {
  it('has a state for every room, a stick for every step, and is kept with its list', async () => {
    const report = await planSample('samples/rooms/quillhaven.csv', desk, { sticks: 4 });
    const { round } = report;
    if (round === undefined) throw new Error('the sample has rooms');
    expect(roundSchema.parse(round)).toEqual(round);
    expect(await desk.round.plan()).toEqual(round);
    expect(report.verdict).toBe('not-ready');
    expect(
      report.counts.update + report.counts['up-to-date'] + report.counts.stopped + report.counts['cannot-tell'],
    ).toBe(round.rooms.length);
    // A list that says nothing of what its panels can still do is planned as it ever was.
    expect(JSON.stringify(round)).not.toMatch(/"way":|over-the-air/);
    const ids = round.loads.map(({ id }) => id);
    for (const room of round.rooms) {
      expect(room.steps.length > 0).toBe(room.state === 'update');
      for (const { load } of room.steps) expect(ids).toContain(load);
      if (room.state === 'stopped' || room.state === 'cannot-tell') expect(room.findings.length).toBeGreaterThan(0);
      if (room.wipes && room.state === 'update') expect(room.approval).not.toBeNull();
    }
    const visits = round.schedule.turns.filter(({ room }) => room !== null).map(({ room, load }) => `${room} ${load}`);
    expect(visits.toSorted()).toEqual(
      round.rooms.flatMap((room) => room.steps.map(({ load }) => `${room.key} ${load}`)).toSorted(),
    );
    expect(new Set(round.schedule.turns.map(({ stick }) => stick))).toEqual(new Set([1, 2, 3, 4]));
    expect(round.schedule.totalMinutes).toBeLessThanOrEqual(report.firstComeMinutes ?? 0);
  });

  it('goes by what a list says that its panels can still do, and is kept with the reasons', async () => {
    const list = join(folder, 'ways.csv');
    writeFileSync(
      list,
      `Raum;Typenschild;Firmwarestand;Startet die Tafel?;Update über das Netz;Einstellungen offen;Etwas zu behalten;Freigabe
A1;K2-second 75/5B;reed.746;ja;bietet an;;;
A2;K2-second 75/5B;reed.746;ja;offline;;;
A3;K2-second 75/5B;reed.746;;Fehler;ja;;
A4;K2-second 75/5B;reed.746;nein;;;nein;M. Aldane
A5;K2-second 75/5B;reed.746;nein;;;ja;M. Aldane
A6;K2-second 75/5B;reed.746;;nichts neueres;;;
A7;K2-second 75/5B;reed.746;langsam;;;;
`,
    );
    const report = await planSample(list, desk);
    const { round } = report;
    if (round === undefined) throw new Error('the list has rooms');
    expect(roundSchema.parse(round)).toEqual(round);
    expect(await desk.round.plan()).toEqual(round);
    expect(
      round.rooms.map(({ key, state, mode, way }) => [key, state, way?.way === 'stick' ? mode : way?.way]),
    ).toEqual([
      ['A1', 'over-the-air', 'over-the-air'],
      ['A2', 'over-the-air', 'over-the-air'],
      ['A3', 'update', 'in-os'],
      ['A4', 'update', 'recovery'],
      ['A5', 'cannot-tell', 'stop-and-ask'],
      ['A6', 'cannot-tell', 'stop-and-ask'],
    ]);
    expect(round.rooms[0]?.way?.answers).toEqual({ starts: 'yes', air: 'offers' });
    const text = renderRoundPlan(report, { colour: false, columns: 80 }).replace(/\s+/g, ' ');
    expect(text).toContain('2 by stick, 2 over the air, 2 to ask about, 0 up to date');
    expect(text).toContain('Over the air: no stick, look later A1 Its own update offers something');
    expect(text).toContain('[round/ask-first]');
    expect(text).toContain('"langsam" for "A7" is no word on whether it starts.');
  });

  test('has the doubt of a family that was made at a desk on every load, card and tag', {
    tags: ['doubt-stays'],
  }, async () => {
    const made = {
      ...{ labels: ['K2-second 75/5B'], packages: ['reed.1717_5B_second_K2.zip'] },
      ...{ by: 'I. Marlow', 'where-read': {}, confirmed: [] },
    };
    const families = desk.families.map((family) =>
      family.family === 'sedge' ? { ...family, 'made-from': made } : family,
    );
    const { round, findings } = await planSample('samples/rooms/quillhaven.csv', desk, { families, dryRun: true });
    if (round === undefined) throw new Error('the sample has rooms');
    expect(findings.map(({ code }) => code)).toContain('fit/family-unconfirmed');
    const loads = round.loads.filter(({ family }) => family === 'sedge');
    expect(loads.length).toBeGreaterThan(2);
    for (const load of loads) expect(load.unproven, load.id).toContain('fit/family-unconfirmed');
    const cards = makeCards(round, []).filter(({ load }) => load.family === 'sedge');
    expect(cards.length).toBeGreaterThan(5);
    for (const card of cards) expect(card.unproven).toContain('fit/family-unconfirmed');
    // Paper breaks its lines as it likes.
    const page = renderCards(cards, { round: 'sample', plannedAt: round.plannedAt }, 'a5')
      .page.replace(/<[^>]*>/g, ' ')
      .replace(/\s+/g, ' ');
    expect(page).toMatch(/NOT PROVEN: .*the family was made from what lay on the table/);
  });

  it('is none of a list without a room, and that is said', async () => {
    const report = await planSample(listOf('headings alone.csv'), desk, { dryRun: true });
    expect(report).toMatchObject({ verdict: 'not-ready', round: undefined, kept: false });
    expect(report.findings.map(({ code }) => code)).toContain('room/no-rows');
  });

  it('knows these rooms', async () => {
    const { round } = await planSample('samples/rooms/quillhaven.csv', desk, { dryRun: true });
    const told = Object.fromEntries(
      (round?.rooms ?? []).map(({ key, state, steps, findings }) => [
        key,
        `${state} ${[...steps.map(({ build }) => build), ...findings.map(({ code }) => code)].join(' ')}`,
      ]),
    );
    expect(told['Fernmoor 1.03']).toBe('up-to-date ');
    expect(told['Fernmoor 1.06']).toBe('update reed.608 reed.1717 shelf/bridge-first');
    expect(told['Fernmoor 1.10']).toBe('stopped round/runs-newer');
    expect(told['Fernmoor 1.11']).toBe('cannot-tell label/possible-misread');
    expect(told['Fernmoor 2.05']).toBe('cannot-tell round/running-unknown');
    expect(told['Quill Lane 03']).toBe('stopped shelf/bridge-not-there');
    expect(told['Quill Lane 13']).toBe('update v3.12.0_20260820');
    expect(told['Quill Lane 14']).toBe('stopped round/wipe-not-approved');
  });

  it('is shown in 80 columns, without colour and with every stopped room in it', async () => {
    const report = await planSample('samples/rooms/quillhaven.csv', desk, { dryRun: true });
    const text = renderRoundPlan(report, { colour: false, columns: 80 });
    expect(text.split('\n').filter((line) => line.length > 80 && !line.startsWith('NOT READY'))).toEqual([]);
    expect(text).toContain('nothing: a dry run');
    for (const { state, key } of report.round?.rooms ?? []) if (state === 'stopped') expect(text).toContain(key);
  });
});

describe('a plan', () => {
  it('is ready where every room is up to date or has its stick, unproven where one cannot be told, not ready where one is stopped', async () => {
    const good = ['Hall,K2-second 75/5B,reed.746,,,,,', 'Gym,K2-second 75/5B,reed.1717,,,,,'];
    expect((await planSample(listOf('good.csv', ...good), desk, { dryRun: true })).verdict).toBe('ready');
    const open = [...good, 'Loft,K2-second 75/5B,,,,,,'];
    expect((await planSample(listOf('open.csv', ...open), desk, { dryRun: true })).verdict).toBe('unproven');
    const stopped = [...open, 'Shop,K2-second 75/5B,reed.1826,,,,,'];
    expect((await planSample(listOf('stopped.csv', ...stopped), desk, { dryRun: true })).verdict).toBe('not-ready');
  });

  it('keeps nothing where no room can be read, and on a dry run', async () => {
    const nothing = listOf('none.csv');
    const before = await desk.round.plan();
    const report = await planSample(nothing, desk);
    expect(report).toMatchObject({ verdict: 'not-ready', round: undefined, kept: false });
    expect(report.findings.length).toBeGreaterThan(0);
    await planSample(listOf('dry.csv', 'Hall,K2-second 75/5B,reed.746,,,,,'), desk, { dryRun: true });
    expect(await desk.round.plan()).toEqual(before);
  });

  it('takes an approval that was recorded since, and not one that was withdrawn', async () => {
    const list = listOf('wipe.csv', 'Hall,K2-second 75/5B,reed.746,,,,recovery,');
    expect((await planSample(list, desk, { dryRun: true })).counts.stopped).toBe(1);
    const at = testPorts.now();
    const base = { schema: 'stickwright/round-record/1', at, notedAt: at, who: 'M. Ferris' } as const;
    const approval = {
      ...base,
      kind: 'approval',
      id: '6e1f2a56-3a1c-4a5e-9d67-0f4f0c1f0a01',
      room: 'Hall',
      label: null,
      serial: null,
      asset: null,
      by: 'R. Okafor',
    } as const;
    await desk.round.append([roundRecordWithDigest(approval, nodeDigesting.sha256)]);
    const approved = await planSample(list, desk, { dryRun: true });
    expect(approved.round?.rooms[0]).toMatchObject({ state: 'update', approval: 'R. Okafor', wipes: true });
    const withdrawn = {
      ...base,
      kind: 'withdrawn',
      id: '6e1f2a56-3a1c-4a5e-9d67-0f4f0c1f0a02',
      withdraws: approval.id,
      because: 'wrong room',
    } as const;
    await desk.round.append([roundRecordWithDigest(withdrawn, nodeDigesting.sha256)]);
    expect((await planSample(list, desk, { dryRun: true })).counts.stopped).toBe(1);
  });

  it('takes minutes as said, as the family says, or as is usual', async () => {
    const list = listOf('minutes.csv', 'Hall,K2-second 75/5B,reed.746,,,,,', 'Shop,86 in 24P.M3,1047,,,,,');
    const said = await planSample(list, desk, { dryRun: true, visitMinutes: 12, setUpMinutes: 3, sticks: 1 });
    expect(said.round?.schedule).toMatchObject({ setUpMinutes: 3, totalMinutes: 30 });
    expect([...said.minutesFrom.values()]).toEqual(['said', 'said']);
    const usual = await planSample(list, desk, { dryRun: true });
    for (const load of usual.round?.loads ?? []) {
      const visit = usual.round?.schedule.turns.find((turn) => turn.load === load.id && turn.room !== null);
      const lasts = (visit?.endMinute ?? 0) - (visit?.startMinute ?? 0);
      expect(lasts).toBe(load.panel.minutes?.to ?? 30);
      expect(usual.minutesFrom.get(load.id)).toBe(load.panel.minutes === null ? 'memory' : 'family');
    }
  });
});
