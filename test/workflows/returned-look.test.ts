import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { OpenVolume } from '../../src/io/volume/volume.ts';
import { makeArchive, packageName, sha256 } from '../fixtures/desk.ts';
import { contentAt, copyStick, newStick, prepare, putInto } from '../fixtures/memory-sticks.ts';
import { comeBack, returnedPorts } from '../fixtures/returned.ts';
import { counting } from '../fixtures/told.ts';
import { change } from '../fixtures/verified.ts';

let folder: string;
let made: string;
let visited: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright steps-'));
  const archivePath = await makeArchive(folder);
  writeFileSync(`${archivePath}.sha256`, `${sha256(readFileSync(archivePath))}  ${packageName}\n`);
  made = await putInto(await newStick(), { 'a letter.txt': Buffer.from('mine') });
  await prepare({ archivePath, targets: [made] });
  visited = await putInto(copyStick(made), { last_log: Buffer.from('E: error 7\n'), '.fseventsd/x': Buffer.from('1') });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const portsWith = (openVolume: OpenVolume) => ({ ...returnedPorts, openVolume });
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
    return { stillOpen, look: () => comeBack({ target: made, clear: true }, portsWith(openVolume)) };
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
