import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type Finding, severityOf } from '../../src/core/findings/finding.ts';
import { loadFamilies } from '../../src/io/families/load-families.ts';
import { readTrustedKey } from '../../src/io/files/desk-key.ts';
import { openShelf } from '../../src/io/shelf/open-shelf.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { checkShelf } from '../../src/workflows/shelf-check.ts';
import { listShelf } from '../../src/workflows/shelf-list.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { prepare, testPorts } from '../fixtures/desk.ts';
import { comeBack } from '../fixtures/returned.ts';
import { addPackages, idle } from '../fixtures/shelf/desk.ts';
import { unpackDocuments } from '../fixtures/version-0.1.0/unpack.ts';

let place: string;
const at = (...names: readonly string[]): string => join(place, ...names);

beforeAll(async () => {
  place = await mkdtemp(join(tmpdir(), 'stickwright earlier-'));
  unpackDocuments(place);
});
afterAll(() => rm(place, { recursive: true, force: true }));

const verify = (target: string, wish: { label?: string; sealFrom?: readonly string[] } = {}) =>
  verifyStick({ target, label: wish.label, quick: false, replugged: true, sealFrom: wish.sealFrom }, testPorts, idle);

const severe = (findings: readonly Finding[]): readonly string[] =>
  findings.filter((found) => ['stop', 'unproven'].includes(severityOf(found))).map(({ code }) => code);

describe('what version 0.1.0 wrote is read, never called broken, and proves no more than it can', () => {
  const sticks: readonly (readonly [name: string, label: string])[] = [
    ['plain.img', 'TS65C4'],
    ['sealed.img', 'TS75C4-2 K2'],
    ['laundered.img', 'LN-075-VX-EU'],
    ['folder', 'TS65C4'],
  ];
  for (const [name, label] of sticks) {
    test(`a stick: ${name}`, { tags: ['doubt-stays', 'any-machine-checks'] }, async () => {
      const { verdict, findings, manifest } = await verify(at(name), { label });
      expect(severe(findings)).toEqual(['verify/older-manifest']);
      expect([verdict, manifest?.schema]).toEqual(['unproven', 'stickwright/manifest/1']);
    });
  }

  test('a seal, with the key of its desk', { tags: ['any-machine-checks'] }, async () => {
    const sealFrom = readTrustedKey(at('desk/desk.pub'));
    const { findings } = await verify(at('sealed.img'), { sealFrom: [sealFrom] });
    expect(findings.map(({ code }) => code)).toContain('verify/sealed');
  });

  test('a stick that is prepared again is finished, keeps its code, and is ready', {
    tags: ['work-goes-on'],
  }, async () => {
    const target = at('plain.img');
    const { manifest: before } = await verify(target);
    const { report } = await prepare({
      archivePath: at('packages/TSC4-1_20260914.zip'),
      targets: [target],
      mode: 'in-os',
      label: 'TS65C4',
      families: await loadFamilies([at('families')]),
    });
    const [stick] = report.sticks;
    expect([stick?.state, stick?.verdict]).toEqual(['written', 'ready']);
    expect(stick?.plan?.items.filter(({ action }) => action === 'write')).toEqual([]);
    const { verdict, manifest } = await verify(target, { label: 'TS65C4' });
    expect([verdict, manifest?.schema, manifest?.stick]).toEqual(['ready', 'stickwright/manifest/2', before?.stick]);
  });

  test('a preparation that was cut off over its manifest goes on', { tags: ['work-goes-on'] }, async () => {
    const target = at('laundered.img');
    const volume = await openVolume(target, 'write');
    await volume.rename('stickwright/manifest.json', 'stickwright/MANIFEST.OLD');
    await volume.flush();
    await volume.close();
    const { report } = await prepare({
      archivePath: at('packages/lantern-vx-eu-v3.12.0_20260820.zip'),
      targets: [target],
      mode: 'in-os',
      label: 'LN-075-VX-EU',
      families: await loadFamilies([at('families')]),
    });
    expect([report.sticks[0]?.state, report.verdict]).toEqual(['written', 'unproven']);
    const { findings } = await verify(target);
    expect(severe(findings)).toEqual(['verify/was-unproven']);
  });

  test('a stick that comes back is judged and cleared', { tags: ['work-goes-on'] }, async () => {
    const report = await comeBack({ target: at('sealed.img'), clear: true });
    expect(severe(report.findings)).toEqual(['verify/older-manifest']);
    const { findings } = await verify(at('sealed.img'));
    expect(severe(findings)).toEqual(['verify/not-prepared']);
  });

  test('a shelf, with the doubt that its record holds', { tags: ['doubt-stays'] }, async () => {
    const { shelf } = await openShelf({ folder: at('shelf'), from: 'named' }, { make: false });
    const { packages, damaged } = await shelf.list();
    expect([packages.length, damaged]).toEqual([2, []]);
    for (const report of [await checkShelf([], shelf, idle), await listShelf([], shelf)]) {
      expect([report.verdict, severe(report.findings)]).toEqual(['unproven', ['shelf/unproven-when-added']]);
    }
  });

  test('a family file', { tags: ['any-maker'] }, async () => {
    expect((await loadFamilies([at('families')])).map(({ family }) => family).toSorted()).toEqual([
      'basalt',
      'lantern',
      'slate',
    ]);
  });

  test('a shelf that is given the proof later', { tags: ['doubt-stays'] }, async () => {
    const { shelf } = await openShelf({ folder: at('shelf'), from: 'named' }, { make: false });
    const archive = at('packages/lantern-vx-eu-v3.12.0_20260820.zip');
    const { packages } = await shelf.list();
    const hex = packages.find(({ record }) => record.family === 'lantern')?.record.sha256 ?? '';
    const claims = [{ algorithm: 'SHA-256', hex, from: 'the command line' }] as const;
    const report = await addPackages(shelf, [archive], await loadFamilies([at('families')]), { claims });
    expect([report.verdict, report.additions[0]?.state]).toEqual(['ready', 'proven']);
    expect((await checkShelf([], shelf, idle)).verdict).toBe('ready');
    expect((await shelf.list()).packages).toHaveLength(2);
  });
});
