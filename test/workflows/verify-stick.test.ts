import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { manifestPath } from '../../src/core/manifest/stick-names.ts';
import { type Mode, modes } from '../../src/core/model/mode.ts';
import { loadFamilies } from '../../src/io/families/load-families.ts';
import { makeArchive, panelLabel } from '../fixtures/desk.ts';
import { copyStick, memoryPorts, newStick, openStick, prepare } from '../fixtures/memory-sticks.ts';
import { codesOf, comeBack } from '../fixtures/returned.ts';
import { change, look, prepareForModes, put, read } from '../fixtures/verified.ts';
import { itWithout } from '../outside/needs.ts';

let folder: string;
let sticks: Readonly<Record<Mode, string>>;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright mode-'));
  sticks = await prepareForModes(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const stickFor = (mode: Mode): string => sticks[mode];

describe('a stick and what somebody is about to do with it', () => {
  for (const prepared of modes) {
    for (const asked of modes) {
      const fits = prepared === asked;
      test(`prepared for ${prepared}, asked for ${asked}: ${fits ? 'said to agree' : 'stopped'}`, async () => {
        const answer = await look(stickFor(prepared), { mode: asked });
        const silent = await look(stickFor(prepared));
        expect(silent.verdict).toBe('unproven'); // no published hash
        expect(answer.verdict).toBe(fits ? 'unproven' : 'not-ready');
        expect(codesOf(answer.findings)).toContain(fits ? 'verify/same-mode' : 'verify/other-mode');
        const back = await comeBack({ target: stickFor(prepared), mode: asked });
        expect(codesOf(back.findings)).toContain(fits ? 'verify/same-mode' : 'verify/other-mode');
        expect(back.conclusion).toBe(fits ? 'not-proven' : 'prepare-anew');
      });
    }
  }
});

/** A copy of the prepared stick, to be changed. */
const copyFor = (mode: Mode = 'recovery'): string => copyStick(stickFor(mode));

describe('what is said of how a stick was made and read', () => {
  test('that it wipes the panel is said in recovery, and in no other mode', async () => {
    for (const mode of modes) {
      const { findings } = await look(stickFor(mode));
      expect(codesOf(findings).includes('verify/wipes-the-panel')).toBe(mode === 'recovery');
    }
  });

  test('a record of a later version is no reason to say that it is broken, and none to say that it is whole', async () => {
    const manifestOf = (edit: (text: string) => string) =>
      change(copyFor(), async (volume) => {
        const text = (await read(volume, manifestPath)).toString();
        await volume.removeFile(manifestPath);
        await put(volume, manifestPath, Buffer.from(edit(text)));
      });
    const later = await manifestOf((text) => text.replace('stickwright/manifest/2', 'stickwright/manifest/9'));
    expect((await look(later)).findings).toMatchObject([
      { code: 'verify/manifest-newer', facts: { schema: 'stickwright/manifest/9' } },
    ]);
    const edited = await manifestOf((text) => text.replace(panelLabel, 'K3-second 75/5B'));
    expect(codesOf((await look(edited)).findings)).toEqual(['verify/manifest-broken']);
  });

  test('names and sizes alone are no proof', async () => {
    const quick = await look(stickFor('in-os'), { quick: true });
    expect(codesOf(quick.findings)).toContain('verify/content-not-read');
    expect(quick).toMatchObject({ verdict: 'unproven', filesRead: 0 });
  });

  // A folder in memory has no medium to read past the system's own copy.
  const inMemory = existsSync('/dev/shm') ? test : itWithout('a folder in memory (Linux: /dev/shm)');
  inMemory(
    'what the system may have had in memory is no proof, but that a person pulled it in between is said',
    async () => {
      const target = mkdtempSync('/dev/shm/stickwright verify-');
      try {
        const from = await openStick(stickFor('in-os'), 'read');
        for (const { path, kind } of await from.entries())
          if (kind === 'folder') mkdirSync(join(target, path));
          else writeFileSync(join(target, path), await read(from, path));
        await from.close();
        const here = codesOf((await look(target, { replugged: false })).findings);
        expect(here.filter((code) => /read-from-cache|replugged/.test(code))).toEqual(['verify/read-from-cache']);
        const back = codesOf((await look(target)).findings);
        expect(back.filter((code) => /read-from-cache|replugged/.test(code))).toEqual(['verify/replugged']);
      } finally {
        rmSync(target, { recursive: true, force: true });
      }
    },
  );

  test('what the system still has in memory is due to be ejected, and is no proof', async () => {
    // A kernel that says so, and means it, is in test/outside/writes-that-fail.test.ts.
    const openVolume: typeof openStick = async (...wish) =>
      Object.assign(await openStick(...wish), { settle: async () => false });
    const ports = { ...memoryPorts, openVolume };
    const { verdict, findings } = await look(stickFor('in-os'), { quick: true }, ports);
    expect(codesOf(findings).filter((code) => code === 'stick/eject-due')).toHaveLength(1);
    expect(verdict).toBe('unproven');
  });

  test('a panel that wants its root to itself is told of what systems left there', async () => {
    const archivePath = await makeArchive(folder, { 'BASALT.IMG': Buffer.from('firmware') }, basaltPackage);
    const target = await newStick();
    const families = await loadFamilies(['samples/families/basalt.yaml']);
    const { report } = await prepare({ archivePath, targets: [target], families, label: '86 in 24P.M3' });
    expect(report.sticks[0]?.state).toBe('written');
    expect(codesOf((await look(target)).findings)).not.toContain('verify/root-not-empty');
    await change(target, (volume) => volume.makeFolder('LOST.DIR'));
    const { verdict, findings } = await look(target);
    expect(verdict).toBe('not-ready');
    expect(findings.filter(({ code }) => code === 'verify/root-not-empty')).toMatchObject([
      { facts: { paths: ['LOST.DIR'] } },
    ]);
  });
});

const basaltPackage = 'basalt_86_24p_m3_r1047.zip';
