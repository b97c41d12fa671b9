import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { PlanItem } from '../../src/core/model/layout-plan.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { firmwareTree, makeArchive, packageName, panelLabel, sha256 } from '../fixtures/desk.ts';
import { contentAt, memoryPorts, newStick, openStick, prepare } from '../fixtures/memory-sticks.ts';

let folder: string;
let archive: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright prepare-'));
  archive = await makeArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let count = 0;
const targets = {
  image: () => newStick(),
  folder: async () => {
    const path = join(folder, `stick ${++count}`);
    mkdirSync(path);
    return path;
  },
};

const verify = async (target: string, label?: string, quick = false) =>
  verifyStick({ target, label, quick, replugged: true }, memoryPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

async function put(target: string, files: Readonly<Record<string, string>>): Promise<void> {
  const volume = await openStick(target, 'write');
  for (const [path, text] of Object.entries(files)) {
    const parent = path.slice(0, Math.max(0, path.lastIndexOf('/')));
    const present = new Set((await volume.entries()).map((entry) => entry.path));
    if (parent !== '' && !present.has(parent)) await volume.makeFolder(parent);
    const writer = await volume.create(path, text.length);
    await writer.write(Buffer.from(text));
    await writer.close();
  }
  await volume.flush();
  await volume.close();
}

const codesOf = (findings: readonly { readonly code: string }[]): readonly string[] => findings.map(({ code }) => code);

/** A folder on the desk's own disk is no stick of any panel: accepted here as a person would have to. */
const folderStops = [
  'file-system-not-taken',
  'partition-table-not-taken',
  'larger-than-the-panel-takes',
  'several-partitions',
];
const folderWish = { accepted: new Map(folderStops.map((code) => [`stick/${code}`, 'a folder in a test'])) };

describe('what the plan says is what is done', { tags: ['plan-before-touch'] }, () => {
  for (const kind of ['image', 'folder'] as const) {
    for (const mode of ['recovery', 'in-os'] as const) {
      it(`${mode} into a ${kind}, item for item`, async () => {
        const target = await targets[kind]();
        await put(target, { 'holiday.jpg': 'somebody’s', 'old_firmware.bin': 'old', '._sedge_boot.pkg': 'twin' });
        const before = await contentAt(target);
        const { report, events } = await prepare({
          archivePath: archive,
          targets: [target],
          mode,
          leftovers: 'set-aside',
          ...folderWish,
        });
        const [stick] = report.sticks;
        expect(stick?.error).toBeUndefined();
        expect(stick?.state).toBe('written');

        const done = events.flatMap((event) => (event.kind === 'item' ? [event.item] : []));
        const byWords = (items: readonly PlanItem[]) => items.map((item) => JSON.stringify(item)).sort();
        expect(byWords(done)).toEqual(byWords(stick?.plan?.items ?? []));

        expect(await contentAt(target)).toEqual(
          expectedAfter(before, stick?.plan?.items ?? [], await contentAt(target)),
        );
      });
    }
  }
});

/** What must be on the stick: what was there, less and plus what the plan lists; the record's own files as they are. */
function expectedAfter(
  before: Readonly<Record<string, string>>,
  items: readonly PlanItem[],
  after: Readonly<Record<string, string>>,
): Record<string, string> {
  const expected: Record<string, string> = { ...before };
  for (const item of items) {
    switch (item.action) {
      case 'set-aside':
        expected[item.to] = expected[item.path] ?? 'not there';
        delete expected[item.path];
        break;
      case 'remove':
      case 'withdraw':
        delete expected[item.kind === 'folder' ? `${item.path}/` : item.path];
        break;
      case 'make-folder':
        expected[`${item.path}/`] = 'folder';
        break;
      case 'write':
        expected[item.path] =
          item.origin.from === 'archive'
            ? (after[packageName] ?? '')
            : sha256(firmwareTree[item.origin.name] ?? Buffer.alloc(0));
        break;
      case 'keep':
        break;
      case 'record':
        expected['stickwright/'] = 'folder';
        for (const name of ['manifest.json', 'checksums.sha256', 'what-is-this-stick.txt']) {
          expected[`stickwright/${name}`] = after[`stickwright/${name}`] ?? 'not there';
        }
    }
  }
  return expected;
}

describe('a dry run', { tags: ['plan-before-touch'] }, () => {
  it('writes nothing and says what the real run would say', async () => {
    const target = await targets.image();
    const before = await contentAt(target);
    const dry = await prepare({ archivePath: archive, targets: [target], dryRun: true });
    expect(await contentAt(target)).toEqual(before);
    expect(dry.report.sticks[0]?.state).toBe('planned');
    const real = await prepare({ archivePath: archive, targets: [target] });
    expect(dry.report.sticks[0]?.plan?.items).toEqual(real.report.sticks[0]?.plan?.items);
  });
});

describe('a wrong variant', { tags: ['plan-before-touch'] }, () => {
  it('is refused before anything is written', async () => {
    const target = await targets.image();
    const before = await contentAt(target);
    const { report } = await prepare({ archivePath: archive, targets: [target], label: 'K3-second 75/5B' });
    expect(report.verdict).toBe('not-ready');
    expect(codesOf(report.findings)).toContain('fit/part-differs');
    expect(report.sticks[0]?.state).toBe('refused');
    expect(await contentAt(target)).toEqual(before);
  });
});

describe('running it again', () => {
  it('changes nothing on a finished stick', async () => {
    const target = await targets.image();
    const claims = [{ algorithm: 'SHA-256', hex: sha256(readFileSync(archive)), from: 'the command line' }] as const;
    await prepare({ archivePath: archive, targets: [target], claims });
    const before = await contentAt(target);
    const { report } = await prepare({ archivePath: archive, targets: [target], claims });
    expect(report.sticks[0]?.state).toBe('unchanged');
    expect(await contentAt(target)).toEqual(before);
  });

  it('does the rest on an unfinished one, and keeps what was right', async () => {
    const target = await targets.image();
    const controller = new AbortController();
    const ports = {
      ...memoryPorts,
      openArchive: async (path: string) => {
        const opened = await memoryPorts.openArchive(path);
        return {
          ...opened,
          readThrough: async (listener, signal, options) =>
            opened.readThrough(
              {
                ...listener,
                entryEnd: async (entry, reading, sound) => {
                  await listener.entryEnd?.(entry, reading, sound);
                  if (entry.name !== 'images/system.img') return;
                  controller.abort(new Error('interrupted'));
                  controller.signal.throwIfAborted();
                },
              },
              signal,
              options,
            ),
        } satisfies typeof opened;
      },
    };
    const cut = await prepare({ archivePath: archive, targets: [target] }, ports, controller.signal);
    expect(cut.report.interrupted).toBe(true);
    expect(cut.report.sticks[0]).toMatchObject({ state: 'unfinished', verdict: 'not-ready' });
    const checked = await verify(target);
    expect(checked.verdict).toBe('not-ready');
    expect(codesOf(checked.findings)).toEqual(['verify/unfinished']);

    const { report } = await prepare({ archivePath: archive, targets: [target] });
    expect(report.sticks[0]?.state).toBe('written');
    expect(codesOf(report.sticks[0]?.findings ?? [])).toContain('stick/unfinished');
    const kept = report.sticks[0]?.plan?.items.filter((item) => item.action === 'keep').map(({ path }) => path);
    expect(kept).toEqual(['sedge_boot.pkg', 'images/system.img']);
    expect((await verify(target)).verdict).not.toBe('not-ready');
  });

  it('writes anew what changed since, and nothing else', async () => {
    const target = await targets.image();
    await prepare({ archivePath: archive, targets: [target] });
    const volume = await openStick(target, 'write');
    await volume.removeFile('release-note.txt');
    const writer = await volume.create('release-note.txt', 9);
    await writer.write(Buffer.from('forged!!\n'));
    await writer.close();
    await volume.close();
    const changed = await verify(target);
    expect(changed.findings.find(({ code }) => code === 'verify/changed')?.subject).toBe('release-note.txt');

    const { report } = await prepare({ archivePath: archive, targets: [target] });
    const [stick] = report.sticks;
    expect(codesOf(stick?.findings ?? [])).toContain('stick/damaged-since');
    const written = stick?.plan?.items.filter((item) => item.action === 'write').map(({ path }) => path);
    expect(written).toEqual(['release-note.txt']);
    expect(codesOf((await verify(target)).findings)).not.toContain('verify/changed');
  });
});

describe('what would confuse a panel', { tags: ['nobodys-files-vanish'] }, () => {
  const stops = {
    'stick/other-firmware': { 'reed.702_8S_third_home.zip': 'another package' },
    'stick/hidden-twins': { '._sedge_boot.pkg': 'twin' },
    'stick/name-taken': { 'sedge_boot.pkg': 'other content' },
    'stick/extra-in-firmware-folder': { 'images/old.img': 'an old build' },
  };
  for (const [code, files] of Object.entries(stops)) {
    it(`${code} stops by default, and can be removed`, async () => {
      const target = await targets.image();
      await put(target, files);
      const before = await contentAt(target);
      const refused = await prepare({ archivePath: archive, targets: [target] });
      expect(codesOf(refused.report.sticks[0]?.findings ?? [])).toContain(code);
      expect(refused.report.sticks[0]?.state).toBe('refused');
      expect(await contentAt(target)).toEqual(before);

      const removed = await prepare({ archivePath: archive, targets: [target], leftovers: 'remove' });
      expect(removed.report.sticks[0]?.state).toBe('written');
      expect(codesOf((await verify(target)).findings)).not.toContain('verify/unexpected');
    });
  }

  it('an earlier preparation stops too, and is withdrawn whole when it is removed', async () => {
    const target = await targets.image();
    await prepare({ archivePath: archive, targets: [target], mode: 'in-os' });
    const refused = await prepare({ archivePath: archive, targets: [target] });
    expect(codesOf(refused.report.sticks[0]?.findings ?? [])).toContain('stick/earlier-preparation');
    expect((await verify(target)).manifest?.mode).toBe('in-os');

    await prepare({ archivePath: archive, targets: [target], leftovers: 'remove' });
    const after = await verify(target);
    expect(after.manifest?.mode).toBe('recovery');
    expect(Object.keys(await contentAt(target))).not.toContain(packageName);
  });

  it('personal files stay where they are', async () => {
    const target = await targets.image();
    await put(target, { 'letters/to-whom.txt': 'mine', 'photo.jpg': 'mine too' });
    const before = await contentAt(target);
    await prepare({ archivePath: archive, targets: [target], leftovers: 'remove' });
    expect(await contentAt(target)).toMatchObject(before);
    expect(codesOf((await verify(target)).findings)).not.toContain('verify/unexpected');
  });
});

describe('an override', () => {
  it('turns one stop into a caution, is kept in the manifest and said by every later check', async () => {
    const target = await targets.image();
    await put(target, { 'other.bin': 'firmware of something else' });
    const because = 'the panel lists the right one, tried twice';
    const accepted = new Map([['stick/other-firmware', because]]);
    const { report } = await prepare({ archivePath: archive, targets: [target], accepted });
    expect(report.sticks[0]?.state).toBe('written');
    const checked = await verify(target);
    expect(checked.manifest?.overrides).toEqual([{ code: 'stick/other-firmware', subject: target, because }]);
    expect(codesOf(checked.findings)).toContain('verify/override');
    expect(codesOf(checked.findings)).not.toContain('verify/unexpected');
  });

  it('cannot lift a stop that makes the work impossible', async () => {
    const target = await targets.image();
    await put(target, { 'sedge_boot.pkg': 'other content' });
    const accepted = new Map([['stick/name-taken', 'because I say so']]);
    const { report } = await prepare({ archivePath: archive, targets: [target], accepted });
    expect(report.sticks[0]?.state).toBe('refused');
  });
});

describe('several sticks from one pass', () => {
  it('each get their own verdict; one that cannot be opened does not stop the others', async () => {
    const [first, second] = [await targets.image(), await targets.image()];
    const gone = join(folder, 'not there.img');
    const { report } = await prepare({ archivePath: archive, targets: [first, gone, second] });
    expect(report.sticks.map(({ state }) => state)).toEqual(['written', 'failed', 'written']);
    expect(report.sticks[1]?.error?.code).toBe('stick/not-found');
    expect(report.verdict).toBe('not-ready');
    for (const target of [first, second])
      expect((await verify(target, panelLabel)).manifest?.label.text).toBe(panelLabel);
  });
});

describe('the label at the panel', () => {
  const cases = {
    [panelLabel]: 'verify/same-label',
    'k2–second  75/5b': 'verify/same-label',
    'K2-second 86/5B': 'verify/label-also-served',
    'K3-second 75/5B': 'verify/other-label',
    'home-second 75/5B': 'verify/other-label',
    'something else': 'verify/label-not-comparable',
    'K2-second 7S/5B': 'verify/label-misread',
    'K2-second 75/SB': 'verify/label-misread',
    'KZ-second 75/5B': 'verify/label-misread',
    'Model: "K2 second 75/5B".': 'verify/label-written-otherwise',
    '\u041a2-second 75/5B': 'label/letters-of-another-alphabet',
  };
  it('is compared without any family file at hand', async () => {
    const target = await targets.image();
    await prepare({ archivePath: archive, targets: [target] });
    for (const [label, code] of Object.entries(cases)) {
      expect(codesOf((await verify(target, label, true)).findings), label).toContain(code);
    }
  });
});
