import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ToolError } from '../../../src/core/model/tool-error.ts';
import { keepLeft } from '../../../src/io/files/keep-left.ts';
import { needs } from '../../outside/needs.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright kept-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const running = new AbortController().signal;

/** In two chunks of one buffer that is used again, as a volume gives them. */
const fileOf = (path: string, bytes: Buffer, stated = bytes.length) => ({
  path,
  bytes: stated,
  read: async () =>
    (async function* () {
      const buffer = Buffer.alloc(Math.ceil(bytes.length / 2));
      for (let at = 0; at < bytes.length; at += buffer.length) {
        const count = bytes.copy(buffer, 0, at);
        yield buffer.subarray(0, count);
      }
    })(),
});

const some = [
  fileOf('last_log', Buffer.from('E: error 7\n')),
  fileOf('Android/data/x/board.svg', Buffer.from('<svg/>')),
];

describe('what a panel left', () => {
  // GNU coreutils' sha256sum is the judge of the sums.
  needs({ sha256sum: 'coreutils' })('is copied with its folders, and its sums are right', async () => {
    const { folder: at, files } = await keepLeft(join(folder, 'new/place'), 'ACD-479-20261102T073000Z', some, running);
    expect(at).toBe(join(folder, 'new/place/ACD-479-20261102T073000Z'));
    expect(readFileSync(join(at, 'Android/data/x/board.svg'), 'utf8')).toBe('<svg/>');
    const list = files.map(({ sha256, path }) => `${sha256}  ${path}\n`).join('');
    expect(execFileSync('sha256sum', ['--strict', '-c'], { cwd: at, input: list, encoding: 'utf8' })).toMatch(
      /last_log: OK/,
    );
    expect(files.map(({ bytes }) => bytes)).toEqual([11, 6]);
  });

  it('never lies over what is there: neither a finished folder nor one that was cut off', async () => {
    const dir = join(folder, 'twice');
    mkdirSync(join(dir, 'ACD-2.part'), { recursive: true });
    const first = await keepLeft(dir, 'ACD', some, running);
    writeFileSync(join(first.folder, 'last_log'), 'changed since');
    const second = await keepLeft(dir, 'ACD', some, running);
    expect([first.folder, second.folder]).toEqual([join(dir, 'ACD'), join(dir, 'ACD-3')]);
    expect(readFileSync(join(first.folder, 'last_log'), 'utf8')).toBe('changed since');
  });

  it('has no folder under its final name where the copying did not come to its end', async () => {
    const dir = join(folder, 'cut');
    const short = [...some, fileOf('torn.log', Buffer.from('half'), 8)];
    await expect(keepLeft(dir, 'ACD', short, running)).rejects.toMatchObject({ code: 'file/unreadable' });
    expect(readdirSync(dir)).toEqual(['ACD.part']);
    const controller = new AbortController();
    controller.abort(new Error('stopped'));
    await expect(keepLeft(join(folder, 'stopped'), 'ACD', some, controller.signal)).rejects.toThrow('stopped');
    const unreadable = {
      path: 'x',
      bytes: 1,
      read: async () => Promise.reject(new ToolError('stick/read-failed', 'x', 'EIO', 'Retire it.')),
    };
    await expect(keepLeft(join(folder, 'bad'), 'ACD', [unreadable], running)).rejects.toMatchObject({
      code: 'stick/read-failed',
    });
  });

  it('is not kept where nothing can be written', async () => {
    writeFileSync(join(folder, 'a file'), '');
    await expect(keepLeft(join(folder, 'a file'), 'ACD', some, running)).rejects.toMatchObject({
      code: 'file/not-permitted',
    });
  });
});
