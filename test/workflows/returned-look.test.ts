import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { OpenVolume } from '../../src/io/volume/volume.ts';
import { contentAt, copyStick, newStick, openingWith, putInto } from '../fixtures/memory-sticks.ts';
import { codesOf, comeBack, makeReturned, returnedPorts, returnedPortsWith } from '../fixtures/returned.ts';
import { counting } from '../fixtures/told.ts';
import { change } from '../fixtures/verified.ts';

let folder: string;
let made: string;
let visited: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright steps-'));
  ({ made, visited } = await makeReturned(folder));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('what a panel left', { tags: ['nobodys-files-vanish'] }, () => {
  const keeping = async (wish: object, stick = visited) => {
    const kept = mkdtempSync(join(folder, 'kept-'));
    const copy = copyStick(stick);
    const report = await comeBack({ target: copy, keepLeft: kept, ...wish });
    return { report, kept, content: Object.keys(await contentAt(copy)) };
  };

  test('is copied to the desk under the stick’s code and the moment, and stays on the stick unless it is cleared', async () => {
    const name = 'ACD-479-20261102T073000Z';
    const looked = await keeping({});
    expect(looked.report.kept).toMatchObject({ folder: join(looked.kept, name), files: [{ path: 'last_log' }] });
    expect(readFileSync(join(looked.kept, name, 'last_log'), 'utf8')).toBe('E: error 7\n');
    expect([looked.content.includes('last_log'), looked.report.clearing.state]).toEqual([true, 'not-asked']);
    const cleared = await keeping({ clear: true });
    expect([cleared.report.kept?.folder, cleared.content]).toEqual([join(cleared.kept, name), ['a letter.txt']]);
  });

  test('is copied with firmware that was changed, and the stick is let go', async () => {
    const { openVolume, stillOpen } = counting();
    const keepLeft = mkdtempSync(join(folder, 'kept-'));
    await comeBack({ target: copyStick(visited), keepLeft }, returnedPortsWith(openVolume));
    expect([readdirSync(keepLeft), stillOpen()]).toEqual([['ACD-479-20261102T073000Z'], 0]);
    const forged = copyStick(made);
    await putInto(forged, {
      'images/touch.img': Buffer.alloc(4096, 7),
      'release-note.txt': Buffer.from('longer than it was'),
    });
    await change(forged, (volume) => volume.removeFile('sedge_boot.pkg'));
    const { report: changed } = await keeping({ clear: true }, forged);
    expect(changed.kept?.files.map(({ path }) => path).toSorted()).toEqual(['images/touch.img', 'release-note.txt']);
    expect(changed.clearing.plan?.steps.flat().filter((item) => item.changed)).toHaveLength(2);
  });

  test('is not copied where the person said no, where there is nothing, and where the stick is nobody’s', async () => {
    const copies: string[] = [];
    const ports = {
      ...returnedPorts,
      keepLeft: async (...asked: Parameters<typeof returnedPorts.keepLeft>) => {
        copies.push(asked[1]);
        return returnedPorts.keepLeft(...asked);
      },
    };
    const wish = { keepLeft: mkdtempSync(join(folder, 'kept-')), clear: true, agreed: false };
    const running = { agree: async () => false };
    expect((await comeBack({ ...wish, target: copyStick(visited) }, ports, running)).kept).toBeUndefined();
    expect((await comeBack({ ...wish, target: copyStick(made), agreed: true }, ports)).kept).toBeUndefined();
    expect((await comeBack({ ...wish, target: await newStick(), clear: false }, ports)).kept).toBeUndefined();
    expect((await comeBack({ target: copyStick(visited), clear: true }, ports)).kept).toBeUndefined();
    expect(copies).toEqual([]);
  });
});

describe('looking at a stick that came back', { tags: ['ready-means-read-back'] }, () => {
  const failing = (code: ToolError['code']) => {
    const { openVolume: opening, stillOpen } = counting();
    const openVolume: OpenVolume = async (...wish) => {
      const volume = await opening(...wish);
      const entries = async () => {
        throw new ToolError(code, 'images', 'so it is', 'Do this.');
      };
      return new Proxy(volume, {
        get: (_, name) => (name === 'entries' ? entries : Reflect.get(volume, name, volume)),
      });
    };
    return { stillOpen, look: () => comeBack({ target: made, clear: true }, returnedPortsWith(openVolume)) };
  };

  test('says of one that cannot be listed what it said, and that it is not to be written', async () => {
    const { look, stillOpen } = failing('stick/read-failed');
    const report = await look();
    expect(report).toMatchObject({
      verdict: 'not-ready',
      conclusion: 'retire',
      filesRead: 0,
      bytesRead: 0,
      sorted: [],
      manifest: undefined,
      findings: [{ code: 'returned/not-readable', facts: { problem: 'images: so it is' } }],
      clearing: { state: 'refused', plan: undefined, findings: [{ code: 'returned/too-worn-to-clear' }] },
    });
    expect(stillOpen()).toBe(0);
    for (const code of ['stick/gone', 'stick/not-as-listed'] as const) {
      const other = failing(code);
      await expect(other.look()).rejects.toMatchObject({ code });
      expect(other.stillOpen()).toBe(0);
    }
  });

  test('says what came back with it and what did not, of the record wherever it lies', async () => {
    const codes = async (stick: string) => codesOf((await comeBack({ target: stick })).findings);
    expect(await codes(made)).toEqual(expect.arrayContaining(['returned/unchanged', 'verify/seal-not-asked']));
    expect(await codes(visited)).toEqual(expect.arrayContaining(['returned/logs-left', 'verify/seal-not-asked']));
    const kindOf = async (stick: string, path: string) =>
      (await comeBack({ target: stick })).sorted.find((entry) => entry.path === path)?.what;
    const moved = await change(copyStick(made), async (volume) => {
      await volume.rename('stickwright/manifest.json', 'stickwright/MANIFEST.OLD');
      await volume.rename('stickwright', 'SW-DONE.TMP');
    });
    const list = 'checksums.sha256';
    expect(await kindOf(moved, `SW-DONE.TMP/${list}`)).toBe(await kindOf(made, `stickwright/${list}`));
    const refused = await comeBack({ target: moved, clear: true });
    expect([refused.clearing.state, codesOf(refused.clearing.findings)]).toEqual([
      'refused',
      ['returned/preparation-unfinished'],
    ]);
    const nobodys = await putInto(await newStick(), { 'photo.jpg': Buffer.from('mine') });
    expect((await comeBack({ target: nobodys, clear: true })).clearing.state).toBe('refused');
    expect((await comeBack({ target: nobodys })).clearing).toEqual({
      state: 'not-asked',
      plan: undefined,
      findings: [],
    });
  });

  test('was out since it was written: what the system may remember of it is no doubt of the medium', async () => {
    const openVolume = openingWith((volume) => ({
      open: async (path, how) => {
        const reader = await volume.open(path, how);
        return { readBack: 'cache', chunks: () => reader.chunks() };
      },
    }));
    const { findings } = await comeBack({ target: made }, returnedPortsWith(openVolume));
    expect(codesOf(findings).filter((code) => /cache/.test(code))).toEqual([]);
  });

  test('is looking at the one that is held: where its mount is gone, so is the stick', async () => {
    const { openVolume, stillOpen } = counting();
    const moving: OpenVolume = async (target, access, options) => {
      const volume = await openVolume(target, access, options);
      const facts = { ...volume.facts, mountPoint: access === 'write' ? '/media/desk/STICK' : '/' };
      return new Proxy(volume, { get: (_, name) => (name === 'facts' ? facts : Reflect.get(volume, name, volume)) });
    };
    const shown: unknown[] = [];
    const propose = async (report: unknown): Promise<void> => void shown.push(report);
    const looking = comeBack({ target: made, clear: true }, returnedPortsWith(moving), { propose });
    await expect(looking).rejects.toMatchObject({ code: 'stick/gone' });
    expect([shown, stillOpen()]).toEqual([[], 0]);
  });

  test('takes a file that cannot be read for none that a panel changed', async () => {
    const openVolume = openingWith((volume) => ({
      open: async (path, how) => {
        if (path === 'images/touch.img') throw new ToolError('stick/read-failed', path, 'so it is', 'Do this.');
        return volume.open(path, how);
      },
    }));
    const { findings, clearing } = await comeBack({ target: made, keepLeft: folder }, returnedPortsWith(openVolume));
    expect(findings).toContainEqual(
      expect.objectContaining({ code: 'verify/unreadable', subject: 'images/touch.img' }),
    );
    const items = clearing.plan?.steps.flat().filter((item) => 'path' in item && item.path === 'images/touch.img');
    expect(items).toMatchObject([{ action: 'remove', changed: false }]);
  });

  test('asks the sectors once, and says of a manifest that is not whole what there is', async () => {
    let audits = 0;
    const ports = {
      ...returnedPorts,
      auditMedium: (...asked: Parameters<typeof returnedPorts.auditMedium>) => {
        audits++;
        return returnedPorts.auditMedium(...asked);
      },
    };
    expect((await comeBack({ target: made }, ports)).conclusion).toBe('go-again');
    expect(audits).toBe(1);
    const unfinished = await change(copyStick(made), (volume) =>
      volume.rename('stickwright/manifest.json', 'stickwright/MANIFEST.OLD'),
    );
    const report = await comeBack({ target: unfinished, clear: true }, ports);
    expect(report).toMatchObject({ filesRead: 0, bytesRead: 0, manifest: { stick: 'ACD-479' } });
    expect([report.clearing.state, Object.keys(await contentAt(unfinished))]).toEqual(['cleared', ['a letter.txt']]);
  });
});
