import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Mode, modes } from '../../src/core/model/mode.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, prepare, testPorts } from '../fixtures/desk.ts';
import { codesOf, comeBack } from '../fixtures/returned.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let folder: string;
const sticks = new Map<Mode, string>();

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright mode-'));
  const archivePath = await makeArchive(folder);
  for (const mode of modes) {
    const target = join(folder, `${mode}.img`);
    await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
    const { report } = await prepare({ archivePath, targets: [target], mode });
    expect(report.sticks[0]?.state).toBe('written');
    sticks.set(mode, target);
  }
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const stickFor = (mode: Mode): string => sticks.get(mode) ?? '';
const verify = (target: string, mode: Mode | undefined) =>
  verifyStick({ target, label: undefined, mode, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

describe('a stick and what somebody is about to do with it', () => {
  for (const prepared of modes) {
    for (const asked of modes) {
      const fits = prepared === asked;
      test(`prepared for ${prepared}, asked for ${asked}: ${fits ? 'said to agree' : 'stopped'}`, async () => {
        const said = await verify(stickFor(prepared), asked);
        const silent = await verify(stickFor(prepared), undefined);
        expect(silent.verdict).toBe('unproven'); // no published hash
        expect(said.verdict).toBe(fits ? 'unproven' : 'not-ready');
        expect(codesOf(said.findings)).toContain(fits ? 'verify/same-mode' : 'verify/other-mode');
        const back = await comeBack({ target: stickFor(prepared), mode: asked });
        expect(codesOf(back.findings)).toContain(fits ? 'verify/same-mode' : 'verify/other-mode');
        expect(back.conclusion).toBe(fits ? 'not-proven' : 'prepare-anew');
      });
    }
  }
});
