import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readExpectedBytes } from '../../src/cli/read-words.ts';
import type { Archive } from '../../src/io/archive/archive.ts';
import { inspectArchive } from '../../src/workflows/inspect-archive.ts';
import { makeArchive, prepare, requestFor, testPorts } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let folder: string;
let archivePath: string;
let bytes: number;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright length-'));
  archivePath = await makeArchive(folder);
  bytes = statSync(archivePath).size;
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Ports that count how often an archive's content is read. */
function countingPorts() {
  const count = { reads: 0 };
  const openArchive = async (path: string): Promise<Archive> => {
    const archive = await testPorts.openArchive(path);
    const readThrough: Archive['readThrough'] = (...asked) => {
      count.reads += 1;
      return archive.readThrough(...asked);
    };
    return { ...archive, readThrough };
  };
  return { count, ports: { ...testPorts, openArchive } };
}

describe('the length that a person gave', () => {
  it('stops prepare before the content is read, with both numbers', async () => {
    const options = { kind: 'fat32', clusterBytes: 512, partitioned: true } as const;
    const stick = await makeFatImage(join(folder, 'stick.img'), 64 * 2 ** 20, options);
    const { count, ports } = countingPorts();
    const wish = { archivePath, targets: [stick], expectBytes: bytes + 1 };
    const { report } = await prepare(wish, ports);
    expect(report.verdict).toBe('not-ready');
    expect(report.findings).toContainEqual({
      code: 'archive/length-differs',
      subject: 'reed.1717_5B_second_K2.zip',
      facts: { fileBytes: bytes, expectedBytes: bytes + 1 },
    });
    expect(count.reads).toBe(0);
    expect(report.sticks.map(({ state }) => state)).not.toContain('written');
  });

  it.each([
    [-1, 'not-ready'],
    [0, 'unproven'], // no published hash
    [1, 'not-ready'],
  ])('is compared by inspect: %i bytes more', async (more, verdict) => {
    const request = { ...(await requestFor({ archivePath, targets: [] })), expectBytes: bytes + more };
    const running = { tell: () => {}, signal: new AbortController().signal };
    const report = await inspectArchive(request, testPorts, running);
    expect(report.findings.some(({ code }) => code === 'archive/length-differs')).toBe(more !== 0);
    expect(report.verdict).toBe(verdict);
  });

  it.each([
    ['1234567890', 1_234_567_890],
    ['1,234,567', 1_234_567],
    ['1.234.567', 1_234_567],
    [' 12 345 ', 12_345],
  ])('is read from %j', (text, expected) => expect(readExpectedBytes(text)).toBe(expected));

  it.each(['', '0', '1.2', '1,23', '12GB', '-5', '1e9', '0x10', '99999999999999999'])('is not read from %j', (text) => {
    expect(() => readExpectedBytes(text)).toThrow(/no number of bytes/);
  });
});
