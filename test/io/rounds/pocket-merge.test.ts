import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, test } from 'vitest';
import { nextLine, type PocketLine, writePocketFile } from '../../../src/core/rounds/pocket/pocket-lines.ts';
import { mostInCode, mostInText, writeParts } from '../../../src/core/rounds/pocket/pocket-parts.ts';
import { roundRecordWithDigest } from '../../../src/core/rounds/records/own-digests.ts';
import { loadFamilies } from '../../../src/io/families/load-families.ts';
import { openRound } from '../../../src/io/rounds/open-round.ts';
import { nodePocketTools } from '../../../src/io/rounds/pocket-files.ts';
import type { RoundFolder } from '../../../src/io/rounds/rounds.ts';
import { phoneTools } from '../../../src/pocket/tools.ts';
import { mergeRounds } from '../../../src/workflows/round-status.ts';
import { keptRound, knownOf, linesOf, pocketOf } from '../../fixtures/pockets.ts';
import { idOf } from '../../fixtures/records/record-arbitrary.ts';
import { sampleRecords } from '../../fixtures/round.ts';

const families = await loadFamilies(['samples/families']);
const round = keptRound();
const pocket = pocketOf(round, sampleRecords(round), families);
const lines = linesOf(pocket, [
  { room: 'Room 2.14', outcome: { kind: 'done', build: 'reed.1717' } },
  { room: 'Room 2.15', outcome: { kind: 'failed', text: 'No update file found' } },
  { room: 'Room 2.15', outcome: { kind: 'failed', text: 'SWP1/ stood on the screen; "code": 5' } },
  { room: 'Assembly hall', outcome: { kind: 'skipped', text: 'Prüfung bis 12 Uhr' } },
  { room: 'Workshop 2', outcome: { kind: 'done', build: '1047' } },
]);
const wanted = lines.map(({ record }) => roundRecordWithDigest(record, nodePocketTools.sha256).selfSha256).toSorted();
const file = writePocketFile(['Five entries of Ada'], lines, pocket, phoneTools.hmac);
const codes = writeParts(lines, mostInCode, phoneTools);

let place = '';
let desk: RoundFolder;
beforeEach(async () => {
  place = join(await mkdtemp(join(tmpdir(), 'stickwright-pocket-')), 'north.round');
  desk = openRound(place, 'desk');
  await desk.savePlan(round, Buffer.from('Room,Label\n'));
  await desk.keepPocket(knownOf(1));
});
afterEach(() => rm(join(place, '..'), { recursive: true, force: true }));

let files = 0;
/** What `round merge` says of these texts, each in a file of its own. */
async function merge(...texts: readonly string[]) {
  const paths = texts.map(() => join(place, '..', `back-${files++}.txt`));
  await Promise.all(paths.map((path, index) => writeFile(path, texts[index] ?? '')));
  const report = await mergeRounds(paths, desk);
  return {
    said: report.findings.filter(({ code }) => code !== 'record/merged').map(({ code, facts }) => ({ code, facts })),
    added: report.merged.map(({ added }) => added),
  };
}
const kept = async () => (await desk.records()).records.map(({ selfSha256 }) => selfSha256).toSorted();
const codesOf = (said: readonly { code: string }[]) => said.map(({ code }) => code);

describe('what comes back from a phone', () => {
  it('is the same from the file, the text and the codes, in any order, as often as one likes', async () => {
    const text = writeParts(lines, mostInText, phoneTools).join('\n');
    const { said, added } = await merge(codes.toReversed().join('\n'), file, text, file);
    expect(added).toEqual([5, 0, 0, 0]);
    expect(codesOf(said)).toEqual(['pocket/taken', 'pocket/taken', 'pocket/taken', 'pocket/taken']);
    expect(said[0]?.facts).toMatchObject({ who: 'Ada', lines: 5, pocket: 'POCKET01' });
    expect(await kept()).toEqual(wanted);
  });

  it('survives what a mail does to it: broken lines, marks of quotation, words around', async () => {
    const [text = ''] = writeParts(lines, mostInText, phoneTools);
    const wrapped = (text.match(/.{1,60}/g) ?? []).map((line) => `> ${line}`).join('\r\n');
    const { said } = await merge(`Dear desk, here they are.\r\n\r\n${wrapped}\r\n\r\nAda`);
    expect(codesOf(said)).toEqual(['pocket/taken']);
    expect(await kept()).toEqual(wanted);
  });

  it('comes code by code too, each in its turn', async () => {
    expect(codes.length).toBeGreaterThan(1);
    for (const code of codes) await merge(code);
    expect(await kept()).toEqual(wanted);
  });

  it('is torn at any byte: what is whole goes on, and what is not is named', async () => {
    const rows = file.split('\n');
    const third = file.indexOf(rows[3] ?? '');
    const { said } = await merge(file.slice(0, third + 200));
    expect(said).toContainEqual({ code: 'pocket/torn-line', facts: { where: 'line 4' } });
    expect(codesOf(said)).toContain('pocket/missing-lines');
    expect(await kept()).toHaveLength(2);
    const between = await merge(file.slice(0, third - 1));
    expect(between.said).toContainEqual({ code: 'pocket/missing-lines', facts: { first: 3, last: null } });
  });

  it('finds the whole line behind a torn one', async () => {
    const rows = file.split('\n');
    const { said } = await merge(
      [...rows.slice(0, 2), `${rows[2]?.slice(0, 90)}${rows[3]}`, ...rows.slice(4)].join('\n'),
    );
    expect(codesOf(said).toSorted()).toEqual(['pocket/missing-lines', 'pocket/taken', 'pocket/torn-line']);
    expect(await kept()).toHaveLength(4);
  });

  test('an edited line is named, and none of it counts', { tags: ['doubt-stays'] }, async () => {
    const { said } = await merge(file.replace('No update file found', 'All went well'));
    expect(said).toContainEqual({ code: 'pocket/edited-line', facts: { where: 'line 3' } });
    expect(await kept()).toHaveLength(4);
    const renumbered = await merge(file.replace('"number":5', '"number":6'));
    expect(codesOf(renumbered.said)).toContain('pocket/edited-line');
  });

  test('a line of a file that this round did not make is named', { tags: ['doubt-stays'] }, async () => {
    const other = pocketOf(round, [], families, { number: 2, who: 'Bo' });
    const foreign = writePocketFile([], linesOf(other, [{}]), other, phoneTools.hmac);
    const { said } = await merge(`${file}${foreign}`);
    expect(said).toContainEqual({ code: 'pocket/foreign-line', facts: { where: 'line 8', pocket: 'POCKET02' } });
    // The id alone does not make it ours: its secret does.
    const forged = writePocketFile([], linesOf({ ...other, id: pocket.id }, [{}]), other, phoneTools.hmac);
    expect(codesOf((await merge(forged)).said)).toContain('pocket/edited-line');
    expect(await kept()).toEqual(wanted);
  });

  test('a phone says what was done in its rooms, and neither approves nor prepares', {
    tags: ['doubt-stays'],
  }, async () => {
    const approval = { ...lines[0]?.record, kind: 'approval', by: 'nobody' };
    for (const gone of ['stick', 'package', 'mode', 'outcome', 'buildBefore', 'buildAfter', 'wiped', 'text'])
      Reflect.deleteProperty(approval, gone);
    const line = nextLine(approval as PocketLine['record'], [], pocket, phoneTools.hmac);
    const { said } = await merge(writePocketFile([], [line], pocket, phoneTools.hmac));
    expect(codesOf(said)).toContain('pocket/edited-line');
    expect(await kept()).toEqual([]);
  });

  it('keeps photos under the ids of their entries, and none that was changed', async () => {
    const photos = new Map([[lines[1]?.record.id ?? '', Buffer.from([0xff, 0xd8, 0xff, 0xd9]).toString('base64')]]);
    const withPhoto = writePocketFile([], lines, pocket, phoneTools.hmac, photos);
    const { said } = await merge(withPhoto, withPhoto);
    expect(codesOf(said)).toEqual(['pocket/taken', 'pocket/photos', 'pocket/taken', 'pocket/photos']);
    expect(await readdir(join(place, 'photos'))).toEqual([`${lines[1]?.record.id}.jpg`]);
    const changed = await merge(withPhoto.replace('/9j/', '/9k/'));
    expect(codesOf(changed.said)).toContain('pocket/edited-line');
  });

  it('names what the chain shows as lost', async () => {
    const rows = file.split('\n');
    const { said } = await merge(rows.filter((_, index) => index !== 2 && index !== 3).join('\n'));
    expect(said).toContainEqual({ code: 'pocket/missing-lines', facts: { first: 2, last: 3 } });
    expect(await kept()).toHaveLength(3);
    const cut = await merge(rows.filter((_, index) => index !== 5).join('\n'));
    expect(cut.said).toContainEqual({ code: 'pocket/missing-lines', facts: { first: 5, last: 5 } });
  });

  it('takes two lines with one number, of two tabs that wrote at one moment, and misses one of them', async () => {
    const twin = nextLine(
      { ...lines[4]?.record, id: idOf(80_000) } as never,
      lines.slice(0, 4),
      pocket,
      phoneTools.hmac,
    );
    const forked = [...lines, twin];
    const { said } = await merge(writePocketFile([], forked, pocket, phoneTools.hmac));
    expect([codesOf(said), said[0]?.facts]).toEqual([['pocket/taken'], expect.objectContaining({ lines: 6 })]);
    expect(await kept()).toHaveLength(6);
    const rows = writePocketFile([], forked, pocket, phoneTools.hmac).split('\n');
    const cut = await merge(rows.filter((_, index) => index !== 4).join('\n'));
    expect(cut.said).toContainEqual({ code: 'pocket/missing-lines', facts: { first: 6, last: 6 } });
  });

  it('names parts that are not there or not whole, and takes the others', async () => {
    const { said } = await merge(codes.slice(1).join('\n'));
    expect(said).toContainEqual({ code: 'pocket/missing-parts', facts: { numbers: [1], of: codes.length } });
    const misread = (codes[0] ?? '').replace(/A(?=[^A]*\.$)/, 'B');
    expect(misread).not.toBe(codes[0]);
    const torn = await merge([misread, ...codes.slice(1)].join('\n'));
    expect(torn.said).toContainEqual({ code: 'pocket/torn-line', facts: { where: `part 1 of ${codes.length}` } });
  });

  it('leaves records alone in which somebody wrote what looks like it', async () => {
    await merge(file);
    const other = openRound(`${place}-2`, 'other');
    await other.savePlan(round, Buffer.from('Room,Label\n'));
    await mergeRounds([place], other);
    expect((await other.records()).records).toHaveLength(5);
  });
});
