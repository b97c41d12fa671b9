import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { agreeToErase } from '../../src/cli/frame/agree.ts';
import { untriedWay } from '../../src/core/report/medium-reports.ts';
import { recordedDrive } from '../fixtures/drives.ts';

// The tests have no terminal, so nobody is asked: what is not said in words is not agreed to.
const drive = recordedDrive('/dev/sda');
const medium = (target: string) => ({ target, kind: 'device', path: target, bytes: 31_029_460_992, drive }) as const;
const frame = { json: false };
const size = { driveSize: '31 GB' };

describe.each([
  ['darwin', '/dev/disk4', 'macOS'],
  ['win32', '\\\\.\\PhysicalDrive1', 'Windows'],
] as const)(
  'erasing a drive on %s, which never ran on a real machine',
  { tags: ['plan-before-touch'] },
  (platform, target, name) => {
    it('says so before anything is agreed to, and wants a word of its own', async () => {
      for (const words of [{}, { yes: true }, size, { ...size, yes: true }] as const)
        await expect(agreeToErase(medium(target), words, frame, platform)).rejects.toMatchObject({
          message: expect.stringContaining(`Erasing a drive on ${name} has never run on a real machine`),
          todo: expect.stringContaining('add --untried'),
        });
    });

    it('wants the size of the drive beside it', async () => {
      await expect(agreeToErase(medium(target), { untried: true, yes: true }, frame, platform)).rejects.toThrow(
        'erased',
      );
      const other = { untried: true, driveSize: '16 GB' } as const;
      await expect(agreeToErase(medium(target), other, frame, platform)).rejects.toThrow('not 16 GB');
      expect(await agreeToErase(medium(target), { untried: true, ...size }, frame, platform)).toBe(true);
    });

    it('has nothing to say of an image file', async () => {
      expect(untriedWay({ kind: 'image', target: 'stick.img' }, platform)).toBeUndefined();
      expect(await agreeToErase({ ...medium('x.img'), kind: 'image' }, { yes: true }, frame, platform)).toBe(true);
    });
  },
);

it('on Linux a drive needs no such word: that way runs in every test', async () => {
  expect(await agreeToErase(medium('/dev/sda'), size, frame, 'linux')).toBe(true);
});

it('is asked wherever a drive can be erased, in the window too', { tags: ['plan-before-touch'] }, () => {
  const erasing = readdirSync('src', { recursive: true, encoding: 'utf8' })
    .filter((path) => /^(cli|server)[\\/].*\.ts$/.test(path))
    .map((path) => ({ path, text: readFileSync(`src/${path}`, 'utf8') }))
    .filter(({ text }) => /\b(formatMedium|proveMedium)\b/.test(text));
  expect(erasing.length).toBeGreaterThan(2);
  for (const { path, text } of erasing) expect(text, path).toMatch(/untriedWay\(|agreeToErase\(medium/);
});
