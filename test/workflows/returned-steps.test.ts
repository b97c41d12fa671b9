import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { StickEntry } from '../../src/core/model/stick-facts.ts';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { WorkEvent } from '../../src/core/report/reports.ts';
import type { Volume } from '../../src/io/volume/volume.ts';
import { firmwareTree, sha256 } from '../fixtures/desk.ts';
import { contentAt, copyStick, deviceOf, newStick, openingWith, putInto } from '../fixtures/memory-sticks.ts';
import { codesOf, comeBack, makeReturned, returnedPorts, returnedPortsWith } from '../fixtures/returned.ts';
import { counting, linesOf, traced } from '../fixtures/told.ts';
import { change, flip } from '../fixtures/verified.ts';

let folder: string;
let made: string;
let visited: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright steps-'));
  ({ made, visited } = await makeReturned(folder));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const firmwareBytes = Object.values(firmwareTree).reduce((sum, { length }) => sum + length, 0);
/** Byte 7 of a FAT32 table holds the mark of a volume that was not put away (FAT specification 1.03). */
const dirtyMark = (stick: string): string => {
  const boot = Buffer.from(deviceOf(stick).bytes(2 ** 20, 512));
  const table = 2 ** 20 + boot.readUInt16LE(14) * 512;
  return flip(stick, [table + 7, 0x08], [table + boot.readUInt32LE(36) * 512 + 7, 0x08]);
};

describe('clearing a stick', { tags: ['nobodys-files-vanish', 'plan-before-touch'] }, () => {
  test('withdraws the record, takes what is the tool’s and the systems’, step by step, the record last', async () => {
    const { told, ports } = traced();
    const events: WorkEvent[] = [];
    const stick = copyStick(visited);
    const report = await comeBack({ target: stick, clear: true }, returnedPortsWith(ports.openVolume), {
      tell: (event) => void events.push(event),
    });
    expect(report.clearing.state).toBe('cleared');
    expect(told).toEqual(
      linesOf(`
        rename stickwright/manifest.json stickwright/MANIFEST.OLD
        flush
        removeFile images/system.img
        removeFile images/touch.img
        removeFile images/empty.img
        removeFile sedge_boot.pkg
        removeFile release-note.txt
        removeFile .fseventsd/x
        flush
        removeFolder .fseventsd
        removeFolder images
        flush
        removeFile stickwright/checksums.sha256
        removeFile stickwright/what-is-this-stick.txt
        flush
        removeFile stickwright/MANIFEST.OLD
        flush
        removeFolder stickwright
        flush`),
    );
    const steps = report.clearing.plan?.steps.flat() ?? [];
    const items = events.flatMap((event) => (event.kind === 'item' ? [event] : []));
    expect(items).toEqual(steps.map((item) => ({ kind: 'item', target: stick, item })));
    expect(await contentAt(stick)).toEqual({
      'a letter.txt': sha256(Buffer.from('mine')),
      last_log: sha256(Buffer.from('E: error 7\n')),
    });
  });

  test('holds the stick from the first look on, and lets it go, whatever comes of it', async () => {
    const cleared = counting();
    expect(
      (await comeBack({ target: copyStick(visited), clear: true }, returnedPortsWith(cleared.openVolume))).clearing
        .state,
    ).toBe('cleared');
    expect(cleared.opened).toEqual(['write', 'read', 'read', 'write', 'read']);
    const looked = counting();
    const report = await comeBack({ target: copyStick(visited) }, returnedPortsWith(looked.openVolume));
    expect(report).toMatchObject({
      filesRead: 5,
      bytesRead: firmwareBytes,
      clearing: { state: 'not-asked', findings: [] },
    });
    expect(looked.opened).toEqual(['read', 'read']);
    const fault = new Error('a fault of who asks');
    const asked = counting();
    const asking = comeBack({ target: copyStick(visited), clear: true }, returnedPortsWith(asked.openVolume), {
      propose: async () => {
        throw fault;
      },
    });
    await expect(asking).rejects.toBe(fault);
    for (const one of [cleared, looked, asked]) expect(one.stillOpen()).toBe(0);
  });

  test('is shown once, and asked for where nobody agreed before and it could be done', async () => {
    const ask = async (wish: object, answer = true) => {
      const heard: string[] = [];
      const stick = copyStick(visited);
      deviceOf(stick).writes = 0;
      const report = await comeBack({ target: stick, agreed: false, ...wish }, returnedPorts, {
        propose: async ({ clearing }) => void heard.push(`shown ${clearing.state}`),
        agree: async ({ clearing }) => {
          heard.push(`asked ${clearing.state}`);
          return answer;
        },
      });
      return [heard, report.clearing.state, deviceOf(stick).writes > 0];
    };
    expect(await ask({})).toEqual([['shown not-asked'], 'not-asked', false]);
    expect(await ask({ clear: true })).toEqual([['shown declined', 'asked declined'], 'cleared', true]);
    expect(await ask({ clear: true }, false)).toEqual([['shown declined', 'asked declined'], 'declined', false]);
    expect(await ask({ clear: true, agreed: true })).toEqual([['shown declined'], 'cleared', true]);
    const blank = await newStick();
    const report = await comeBack({ target: blank, clear: true, agreed: false }, returnedPorts, {
      agree: async () => Promise.reject(new Error('nobody is to be asked')),
    });
    expect([report.clearing.state, report.clearing.plan]).toEqual(['refused', undefined]);
    expect(codesOf(report.clearing.findings)).toEqual(['returned/nothing-to-clear']);
  });

  test('that could not take all away, or took more, is told with the path', async () => {
    const clearWith = (others: (volume: Volume) => Partial<Volume>) =>
      comeBack(
        { target: copyStick(visited), clear: true },
        returnedPortsWith(openingWith((volume, access) => (access === 'write' ? others(volume) : {}))),
      );
    const without = (path: string) => (volume: Volume) => ({
      removeFile: async (at: string) => (at === path ? undefined : volume.removeFile(at)),
      removeFolder: async (at: string) => (path.startsWith(`${at}/`) ? undefined : volume.removeFolder(at)),
    });
    const left = { code: 'stick/write-failed', subject: 'release-note.txt' };
    await expect(clearWith(without(left.subject))).rejects.toMatchObject(left);
    await expect(clearWith(without('images/touch.img'))).rejects.toMatchObject({ ...left, subject: 'images' });
    const removingMore = (volume: Volume) => ({
      removeFile: async (at: string) => {
        await volume.removeFile(at);
        if (at === 'release-note.txt') await volume.removeFile('a letter.txt');
      },
    });
    const gone = { code: 'stick/write-failed', subject: 'a letter.txt' };
    await expect(clearWith(removingMore)).rejects.toMatchObject(gone);
    const seeing = (edit: (entry: StickEntry) => StickEntry) => (volume: Volume) => ({
      entries: async () =>
        (await volume.entries()).map((entry) => (entry.path === 'a letter.txt' ? edit(entry) : entry)),
    });
    await expect(clearWith(seeing((entry) => ({ ...entry, bytes: 3 })))).rejects.toMatchObject(gone);
    await expect(clearWith(seeing((entry) => ({ ...entry, kind: 'folder' })))).rejects.toMatchObject(gone);
    // A computer adds what is its own whenever it likes.
    const adding = (volume: Volume) => ({
      entries: async () => [...(await volume.entries()), { path: 'new', kind: 'file', bytes: 1 } as const],
    });
    expect((await clearWith(adding)).clearing.state).toBe('cleared');
  });

  test('leaves what a computer holds on to, of a mounted volume, of its own, and for nothing but a refusal', async () => {
    const holding = (code: ToolError['code'], path: string, kind: 'folder' | 'image') => {
      const events: WorkEvent[] = [];
      const openVolume = openingWith((volume) => ({
        facts: { ...volume.facts, kind },
        removeFile: async (at: string) => {
          if (at === path) throw new ToolError(code, at, 'so it is', 'Do this.');
          await volume.removeFile(at);
        },
        removeFolder: async (at: string) => {
          if (path.startsWith(`${at}/`)) throw new ToolError('stick/write-failed', at, 'so it is', 'Do this.');
          await volume.removeFolder(at);
        },
      }));
      return comeBack({ target: copyStick(visited), clear: true }, returnedPortsWith(openVolume), {
        tell: (event) => void events.push(event),
      }).then(
        ({ clearing }) => [clearing.state, clearing.findings.filter(({ code: one }) => one === 'returned/not-removed')],
        (error: ToolError) => error.code,
      );
    };
    const mark = '.fseventsd/x';
    for (const code of ['file/not-permitted', 'stick/in-use', 'stick/write-failed', 'stick/not-as-listed'] as const)
      expect(await holding(code, mark, 'folder')).toMatchObject([
        'cleared',
        [{ facts: { paths: expect.arrayContaining([mark, '.fseventsd']) } }],
      ]);
    expect(await holding('stick/gone', mark, 'folder')).toBe('stick/gone');
    expect(await holding('stick/in-use', mark, 'image')).toBe('stick/in-use');
    expect(await holding('stick/in-use', 'release-note.txt', 'folder')).toBe('stick/in-use');
  });

  test('that is stopped is unfinished; another fault at that moment is told as what it is', async () => {
    const clearUntil = (fault: Error | undefined) => {
      const controller = new AbortController();
      const openVolume = openingWith((volume) => ({
        removeFile: async (at: string) => {
          controller.abort(new Error('stopped by a person'));
          if (fault !== undefined) throw fault;
          await volume.removeFile(at);
        },
      }));
      return comeBack({ target: copyStick(visited), clear: true }, returnedPortsWith(openVolume), {
        signal: controller.signal,
      });
    };
    const stopped = await clearUntil(undefined);
    expect(stopped.clearing).toMatchObject({ state: 'unfinished', plan: { steps: expect.any(Array) } });
    const fault = new ToolError('stick/gone', 'x', 'so it is', 'Do this.');
    await expect(clearUntil(fault)).rejects.toBe(fault);
  });

  test('takes the mark of an unclean pull first, where the sectors say that all is sound, and only from this stick', async () => {
    const settled: string[] = [];
    const ports = {
      ...returnedPorts,
      settleDirtyMark: async (target: string) => {
        settled.push(target);
        await returnedPorts.settleDirtyMark(target);
      },
    };
    const clean = copyStick(made);
    expect((await comeBack({ target: clean, clear: true }, ports)).clearing.state).toBe('cleared');
    expect(settled).toEqual([]);
    const dirty = dirtyMark(copyStick(made));
    const report = await comeBack({ target: dirty, clear: true }, ports);
    expect([report.clearing.state, report.clearing.plan?.settlesDirtyMark, settled]).toEqual([
      'cleared',
      true,
      [dirty],
    ]);
    expect(Object.keys(await contentAt(dirty))).toEqual(['a letter.txt']);
    settled.length = 0;
    const other = dirtyMark(copyStick(made));
    const changing = comeBack({ target: other, clear: true }, ports, {
      propose: async () => void (await putInto(other, { 'new.txt': Buffer.from('new') })),
    });
    await expect(changing).rejects.toMatchObject({ code: 'stick/swapped' });
    expect(settled).toEqual([]);
  });

  test('ends with the empty folder that a cut left of the record, and with no folder that holds something', async () => {
    const left = await change(await newStick(), (volume) => volume.makeFolder('stickwright'));
    const report = await comeBack({ target: left, clear: true });
    expect([report.clearing.state, Object.keys(await contentAt(left))]).toEqual(['cleared', []]);
    const filled = await putInto(await newStick(), { 'stickwright/diary.txt': Buffer.from('mine') });
    expect((await comeBack({ target: filled, clear: true })).clearing.state).toBe('refused');
    expect(Object.keys(await contentAt(filled))).toEqual(['stickwright/', 'stickwright/diary.txt']);
  });
});
