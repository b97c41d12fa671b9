import { mkdtemp, readdir, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Round } from '../../src/core/model/round.ts';
import { exportChanges, giveBack } from '../../src/core/rounds/filled/export-changes.ts';
import type { VisitWish } from '../../src/core/rounds/records/make-visit.ts';
import { roundRecordWithDigest } from '../../src/core/rounds/records/own-digests.ts';
import { loadFamilies } from '../../src/io/families/load-families.ts';
import { readKeptList } from '../../src/io/rounds/copy-list.ts';
import { readFilledList } from '../../src/io/rounds/filled-list.ts';
import { parseTime } from '../../src/io/rounds/local-time.ts';
import { openRound } from '../../src/io/rounds/open-round.ts';
import { writeCsv } from '../../src/io/rounds/write-export.ts';
import type { RoundDesk } from '../../src/workflows/round-desk.ts';
import { recordVisit, withdrawRecord } from '../../src/workflows/round-record.ts';
import { recordList } from '../../src/workflows/round-record-list.ts';
import { exportRound, ladderFor, mergeRounds, roundStatus } from '../../src/workflows/round-status.ts';
import { idOf, sha256 } from '../fixtures/records/record-arbitrary.ts';
import { sampleRecords, sampleRound } from '../fixtures/round.ts';

let folder = '';
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stickwright-round-'));
});
afterEach(async () => {
  await rm(folder, { recursive: true, force: true });
});

const now = '2026-09-21T10:00:00.000Z';
let ids = 1000;

/** A list as its owner keeps it: other headings, semicolons, a column called Who that means something else. */
const listText = [
  'Where;Plate;Version;S/N;Inventory;Who;Remarks',
  'Room 2.14;K2-second 75/5B;reed.746;SD75B-2291-0087;QSA-10214;Ms Finch;=HYPERLINK("x")',
  'Room 2.15;K2-second 75/5B;reed.746;SD75B-2291-0090;QSA-10215;Mr Wren;',
  'Room 1.03;K2-second 75/5B;reed.455;SD75B-2188-0012;QSA-10103;;"two; parts"',
  '',
].join('\r\n');

async function openDesk(name: string, list = listText): Promise<RoundDesk> {
  const place = join(folder, `${name}.round`);
  const bytes = Buffer.from(list);
  const digest = sha256(list);
  const round: Round = {
    ...sampleRound(),
    list: {
      path: 'north.csv',
      copy: `list-${digest.slice(0, 16)}.csv`,
      sha256: digest,
      columns: { room: 0, label: 1, running: 2, serial: 3, asset: 4, notes: 6 },
    },
  };
  const desk = {
    folder: openRound(place, 'Ada'),
    families: () => loadFamilies(['samples/families']),
    sha256,
    now: () => now,
    newId: () => idOf(ids++),
  };
  await desk.folder.savePlan(round, bytes);
  await desk.folder.append(sampleRecords(round).map((record) => roundRecordWithDigest(record, sha256)));
  return desk;
}

const wish = (room: string, rest: Partial<VisitWish> = {}): VisitWish => ({
  room,
  outcome: { kind: 'done', build: 'reed.1717' },
  label: undefined,
  serial: undefined,
  stick: undefined,
  before: undefined,
  wiped: undefined,
  note: undefined,
  at: '2026-09-21T08:40:00+02:00',
  who: 'Ada',
  ...rest,
});
const nothing = new Map<string, string>();
const visitsAt = async (desk: RoundDesk) =>
  (await desk.folder.records()).records.filter(({ kind }) => kind === 'visit');

async function take(desk: RoundDesk, text: string, name = 'filled.csv') {
  const path = join(folder, name);
  await writeFile(path, text);
  const list = await readFilledList(path, desk.folder);
  const otherwise = { at: '2026-09-21T12:00:00+02:00', who: 'Ada' };
  const readTime = (said: string) => parseTime(said, Date.parse(now));
  return await recordList({ ...list, source: name, readTime, otherwise }, desk);
}
const codes = ({ findings }: { readonly findings: readonly { readonly code: string }[] }) =>
  findings.map(({ code }) => code);

describe('round record', () => {
  it('keeps a visit, shows how its room stands, and the ladder where it failed', async () => {
    const desk = await openDesk('a');
    const done = await recordVisit(wish('2.14'), nothing, desk);
    expect(done).toMatchObject({ verdict: 'ready', rooms: [{ progress: 'done' }], ladder: undefined });
    expect(codes(done)).toContain('record/kept');
    const failed = await recordVisit(wish('2.15', { outcome: { kind: 'failed', text: 'E17' } }), nothing, desk);
    expect(failed).toMatchObject({ verdict: 'ready', ladder: { isOver: false, tries: [{ words: 'E17' }] } });
    expect(await visitsAt(desk)).toHaveLength(2);
  });

  it('keeps nothing that is stopped, unless a person accepts it; the reason stands in the line', async () => {
    const desk = await openDesk('a');
    const odd = wish('2.14', { outcome: { kind: 'done', build: 'reed.1430' } });
    expect(await recordVisit(odd, nothing, desk)).toMatchObject({ verdict: 'not-ready', recorded: [] });
    expect(await visitsAt(desk)).toEqual([]);
    const accepted = new Map([['record/build-unexpected', 'read twice, photographed']]);
    const kept = await recordVisit(odd, accepted, desk);
    expect(kept.recorded).toMatchObject([{ text: 'record/build-unexpected accepted: read twice, photographed' }]);
    expect(kept.rooms).toMatchObject([{ progress: 'unclear' }]);
  });

  it('says which load comes next where a build on the way was reached', async () => {
    const desk = await openDesk('a');
    const half = await recordVisit(wish('1.03', { outcome: { kind: 'done', build: 'reed.608' } }), nothing, desk);
    expect(half.findings).toContainEqual(
      expect.objectContaining({
        code: 'record/step-reached',
        facts: expect.objectContaining({ load: 'A', sticks: ['CLY-FTJ'] }),
      }),
    );
  });

  it('withdraws a line by the beginning of its id, once, and no withdrawal', async () => {
    const desk = await openDesk('a');
    const { recorded } = await recordVisit(wish('2.14'), nothing, desk);
    const request = { id: recorded[0]?.id ?? '', because: 'wrong room', at: now, who: 'Bo' };
    const gone = await withdrawRecord(request, desk);
    expect(gone).toMatchObject({ verdict: 'ready', rooms: [{ progress: 'prepared' }] });
    expect(codes(gone)).toEqual(['record/withdrawn']);
    expect(codes(await withdrawRecord(request, desk))).toEqual(['record/id-unknown']);
    const withdrawal = { ...request, id: gone.recorded[0]?.id ?? '' };
    expect(codes(await withdrawRecord(withdrawal, desk))).toEqual(['record/withdrawal-not-withdrawn']);
    expect(codes(await withdrawRecord({ ...request, id: '00000000' }, desk))).toEqual(['record/id-unknown']);
  });

  it('goes on without the family files, and says what that costs', async () => {
    const desk = { ...(await openDesk('a')), families: () => loadFamilies([join(folder, 'gone')]) };
    const report = await recordVisit(wish('2.14'), nothing, desk);
    expect(report).toMatchObject({ verdict: 'unproven', rooms: [{ progress: 'done' }] });
    expect(codes(report)).toContain('record/families-missing');
  });
});

describe('round record --from', () => {
  const filled = [
    'Where;Plate;S/N;Outcome;Build after;Done at;Who;Stick;Words',
    'Room 2.14;K2-second 75/5B;SD75B-2291-0087;done;reed.1717;2026-09-21 08:40;Bo;CLY-FTJ;',
    'Room 2.15;K2-second 75/5B;;failed;;;;;No update file found',
    'Room 1.03;;;;reed.608;21.09.2026 09:10;Bo;;',
    'Room 9.99;;;done;reed.1717;;;;',
    'Library;;;maybe;;;;;',
    'Workshop 2;;;done;1047;25:99;;;',
    'Workshop 2;;;done;1012;;;;',
    'Assembly hall;;;;;;;;',
    'Room 2.14;K1-second 75/5B;;failed;;;;;other plate',
    '',
  ].join('\n');

  it('keeps the good rows, names the bad ones with line and column, and keeps nothing twice', async () => {
    const desk = await openDesk('a');
    const first = await take(desk, filled);
    expect(first.recorded).toMatchObject([
      { room: 'Room 2.14', outcome: 'done', who: 'Bo', stick: 'CLY-FTJ', buildAfter: 'reed.1717' },
      { room: 'Room 2.15', outcome: 'failed', who: 'Ada', text: 'No update file found' },
      { room: 'Room 1.03', outcome: 'done', buildAfter: 'reed.608' },
    ]);
    const bad = first.findings.filter(({ code }) => code.startsWith('record/bad'));
    expect(bad.map(({ code, facts }) => `${code} ${(facts as { place: string }).place}`)).toEqual([
      'record/bad-cell line 6, column 4 "Outcome"',
      'record/bad-cell line 7, column 6 "Done at"',
      'record/bad-row line 5',
      'record/bad-row line 8',
      'record/bad-row line 10',
    ]);
    expect(first).toMatchObject({ verdict: 'not-ready', rooms: [{}, {}, {}] });
    expect(codes(first)).toEqual(expect.arrayContaining(['record/rows-empty', 'record/time-assumed']));
    const again = await take(desk, filled);
    expect(again.recorded).toEqual([]);
    expect(again.findings).toContainEqual(expect.objectContaining({ code: 'record/rows-known', facts: { rows: 3 } }));
    expect(await visitsAt(desk)).toHaveLength(3);
  });

  it('makes the same records at two desks, so that a merge keeps each once', async () => {
    const [here, there] = [await openDesk('here'), await openDesk('there')];
    await take(here, filled);
    await take({ ...there, now: () => '2026-09-21T11:11:11.000Z' }, filled);
    const report = await mergeRounds([there.folder.place], here.folder);
    expect(codes(report)).toEqual(['record/merged']);
    expect(await visitsAt(here)).toHaveLength(3);
    expect((await here.folder.records()).damaged).toEqual([]);
  });

  it('does not bring back what was withdrawn', async () => {
    const desk = await openDesk('a');
    const { recorded } = await take(desk, filled);
    await withdrawRecord({ id: recorded[0]?.id ?? '', because: 'wrong room', at: now, who: 'Bo' }, desk);
    const again = await take(desk, filled);
    expect(again.recorded).toEqual([]);
    expect(codes(again)).toContain('record/rows-withdrawn');
    expect((await roundStatus(desk)).status.rooms[0]?.progress).toBe('prepared');
  });

  it('takes both steps of a bridge in one list, and counts a bad list for what it is', async () => {
    const desk = await openDesk('a');
    const steps = 'Where,Build after,When\nRoom 1.03,reed.608,2026-09-21 08:00\nRoom 1.03,reed.1717,2026-09-21 09:00\n';
    expect(await take(desk, steps)).toMatchObject({ verdict: 'ready', rooms: [{ progress: 'done' }] });
    expect(codes(await take(desk, 'a,b\n1,2\n'))).toEqual(['record/list-without-headings']);
    expect(codes(await take(desk, '%PDF-1.7\n'))).toEqual(['room/not-a-list']);
  });
});

describe('round export', () => {
  const exported = async (desk: RoundDesk): Promise<string> => {
    const { status } = await roundStatus(desk);
    const list = await readKeptList(desk.folder, status.round);
    return Buffer.from(writeCsv(giveBack(list, exportChanges(status, list)), list.form).bytes).toString('utf8');
  };

  it('gives the list back in its own form: running where done, our columns at the right, no cell that a spreadsheet would run', async () => {
    const desk = await openDesk('a');
    await recordVisit(wish('2.14', { stick: 'CLY-FTJ' }), nothing, desk);
    await recordVisit(wish('2.15', { outcome: { kind: 'failed', text: '=cmd|x' } }), nothing, desk);
    const lines = (await exported(desk)).split('\r\n');
    expect(lines).toEqual([
      'Where;Plate;Version;S/N;Inventory;Who;Remarks;Outcome;Build after;Done at;Who (round);Stick;Words',
      `Room 2.14;K2-second 75/5B;reed.1717;SD75B-2291-0087;QSA-10214;Ms Finch;"'=HYPERLINK(""x"")";done;reed.1717;2026-09-21T08:40:00+02:00;Ada;CLY-FTJ;`,
      `Room 2.15;K2-second 75/5B;reed.746;SD75B-2291-0090;QSA-10215;Mr Wren;;failed;;2026-09-21T08:40:00+02:00;Ada;CLY-FTJ;'=cmd|x`,
      'Room 1.03;K2-second 75/5B;reed.455;SD75B-2188-0012;QSA-10103;;"two; parts";open;;;;;',
      '',
    ]);
  });

  it('says which files it wrote, and how large they are', async () => {
    const desk = await openDesk('a');
    const path = join(folder, 'given back.csv');
    const ports = {
      ...desk,
      keptList: (round: Round) => readKeptList(desk.folder, round),
      writeCsv: (...given: Parameters<typeof writeCsv>) => writeCsv(...given).bytes,
      renderReport: () => '',
      write: (to: string, bytes: Uint8Array) => writeFile(to, bytes),
    };
    const { findings } = await exportRound({ csv: path, report: undefined }, ports);
    const { size } = await stat(path);
    expect(findings[0]).toMatchObject({ code: 'record/exported', subject: path, facts: { bytes: size } });
    const spoken = await exportRound({ csv: '-', report: undefined }, { ...ports, write: async () => {} });
    expect(codes(spoken)).not.toContain('record/exported');
  });

  it('is a list to fill in: what is in it already is known, also words that a spreadsheet would run', async () => {
    const desk = await openDesk('a');
    await recordVisit(wish('2.14', { stick: 'CLY-FTJ' }), nothing, desk);
    await recordVisit(wish('2.15', { outcome: { kind: 'failed', text: '=cmd|x' } }), nothing, desk);
    const text = await exported(desk);
    expect(await take(desk, text)).toMatchObject({ verdict: 'ready', recorded: [] });
    const filledIn = text.replace(';open;;', ';done;reed.608;');
    expect(await take(desk, filledIn)).toMatchObject({ recorded: [{ room: 'Room 1.03', buildAfter: 'reed.608' }] });
    expect(await exported(desk)).toContain('Room 1.03;K2-second 75/5B;reed.608;');
  });
});

describe('round status, ladder and merge', () => {
  it('is not ready while rooms are left, and names what is damaged', async () => {
    const desk = await openDesk('a');
    await writeFile(
      join(desk.folder.place, 'records', 'x.jsonl'),
      '{"schema":"stickwright/round-record/1","kind":"vis',
    );
    const report = await roundStatus(desk);
    expect(report.verdict).toBe('not-ready');
    expect(codes(report)).toEqual(['record/damaged-line']);
  });

  it('shows what two technicians said apart once their folders are merged', async () => {
    const [ada, bo] = [await openDesk('ada'), await openDesk('bo')];
    await recordVisit(wish('2.14', { who: 'Ada' }), nothing, ada);
    const other = wish('2.14', {
      who: 'Bo',
      outcome: { kind: 'failed', text: 'E17' },
      at: '2026-09-21T08:45:00+02:00',
    });
    await recordVisit(other, nothing, bo);
    await mergeRounds([bo.folder.place], ada.folder);
    expect(codes(await roundStatus(ada))).toContain('record/disagreement');
    expect(codes(await ladderFor('2.14', { label: undefined, serial: undefined }, ada))).toContain(
      'record/disagreement',
    );
    expect((await readdir(join(ada.folder.place, 'records'))).some((name) => name.startsWith('merged-'))).toBe(true);
  });

  it('says round/not-found where there is no plan', async () => {
    const desk = { ...(await openDesk('a')), folder: openRound(join(folder, 'none.round'), 'Ada') };
    await expect(roundStatus(desk)).rejects.toMatchObject({ code: 'round/not-found' });
  });
});
