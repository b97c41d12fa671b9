import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { OpenVolume } from '../../src/io/volume/volume.ts';
import type { Ports } from '../../src/workflows/ports.ts';
import { prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { firmwareTree, makeArchive, makePublishedArchive, requestFor, sha256 } from '../fixtures/desk.ts';
import {
  contentAt,
  copyStick,
  deviceOf,
  memoryPorts,
  newStick,
  openingWith,
  prepare,
  putInto,
} from '../fixtures/memory-sticks.ts';
import { codesOf } from '../fixtures/returned.ts';
import { failing, isStage, lying, portsWith, stoppedAt, traced } from '../fixtures/told.ts';
import { look } from '../fixtures/verified.ts';
import type { MemoryDevice } from '../fixtures/volumes/memory-device.ts';

let folder: string;
let archivePath: string;
let whole: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright writing-'));
  archivePath = await makePublishedArchive(folder);
  whole = await newStick();
  await prepare({ archivePath, targets: [whole], mode: 'in-os' });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a run that is stopped', { tags: ['never-half-a-file', 'work-goes-on'] }, () => {
  for (const [stage, firmware] of [
    ['writing', 'not staged'],
    ['reading', 'not staged'],
    ['reading-back', 'staged'],
    ['finishing', 'staged'],
  ] as const) {
    test(`at ${stage} says so, gives no final name, and the same command does the rest`, async () => {
      const stick = await newStick();
      const { told, ports } = traced();
      const { report, events } = await stoppedAt({ archivePath, stick }, isStage(stage), ports);
      expect(report).toMatchObject({ interrupted: true, verdict: 'not-ready' });
      expect(report.sticks).toMatchObject([{ state: 'unfinished', verdict: 'not-ready', error: undefined }]);
      expect(events.filter((event) => event.kind === 'end' && event.state !== 'unfinished')).toEqual([]);
      const roots = new Set(Object.keys(await contentAt(stick)).map((path) => path.split('/')[0]));
      expect([...roots].filter((root) => !/^SW-(PART|DONE)\.TMP$/.test(root ?? ''))).toEqual([]);
      expect(told.filter((line) => /^rename/.test(line))).toEqual([]);
      const again = traced();
      const { report: finished } = await prepare({ archivePath, targets: [stick] }, again.ports);
      expect(finished).toMatchObject({ interrupted: false, verdict: 'ready', sticks: [{ state: 'written' }] });
      const made = again.told.filter((line) => /^create SW-PART/.test(line));
      if (firmware === 'staged') expect(made).toEqual([]);
      // What was made there is not made again, in a folder that is there.
      expect(again.told.filter((line) => line === 'makeFolder SW-PART.TMP')).toHaveLength(
        again.told.includes('removeFolder SW-PART.TMP') && told.includes('makeFolder SW-PART.TMP') ? 0 : 1,
      );
      expect((await look(stick)).verdict).toBe('ready');
    });
  }

  test('before the first write has written nothing, and is no fault', async () => {
    const stick = copyStick(whole);
    deviceOf(stick).writes = 0;
    const { report } = await stoppedAt({ archivePath, stick }, ({ kind }) => kind === 'plan');
    expect(report).toMatchObject({ interrupted: true, verdict: 'not-ready', sticks: [{ error: undefined }] });
    expect(deviceOf(stick).writes).toBe(0);
  });
});

test('another fault while a run is stopped is kept', async () => {
  const stick = await newStick();
  const controller = new AbortController();
  const ports = portsWith((volume) => ({
    create: async (path: string, bytes: number) => {
      if (!path.endsWith('touch.img')) return volume.create(path, bytes);
      controller.abort(new Error('stopped by a person'));
      throw new ToolError('stick/gone', path, 'so it is', 'Do this.');
    },
  }));
  const { report } = await prepare({ archivePath, targets: [stick] }, ports, controller.signal);
  expect(report.sticks).toMatchObject([{ state: 'unfinished', error: { code: 'stick/gone' } }]);
});

// A stand-in for a driver that takes the place of a kept file for free: none can be made to do that at a wish.
describe('what an earlier run left, where the drive may not be read', {
  tags: ['ready-is-on-the-medium', 'ready-means-read-back'],
}, () => {
  const untold = async () => ({ mediumBytes: 0, table: 'unknown', partitions: [], volumes: [], flaws: [] }) as const;

  test.each([
    ['and is whole', false, 'written', 'ready'],
    ['and has the record over it: never ready', true, 'unfinished', 'not-ready'],
  ] as const)('is read once more when all else is written, %s', async (_, isLaidOver, state, verdict) => {
    const stick = await newStick();
    await stoppedAt({ archivePath, stick }, isStage('reading-back'));
    const device = deviceOf(stick);
    const note = firmwareTree['release-note.txt'] ?? Buffer.alloc(0);
    const sectors = Array.from({ length: device.sizeBytes / 512 }, (_none, at) => at * 512);
    const place = sectors.find((at) => note.equals(device.bytes(at, note.length))) ?? 0;
    const openVolume = openingWith((volume) => ({
      create: (path, bytes) => {
        if (isLaidOver && path.startsWith('SW-DONE.TMP/')) device.putBytes(place, Buffer.from('a record!'));
        return volume.create(path, bytes);
      },
    }));
    const { report } = await prepare(
      { archivePath, targets: [stick] },
      { ...memoryPorts, auditMedium: untold, openVolume },
    );
    expect(report.sticks).toMatchObject([{ state, verdict }]);
    expect(codesOf(report.sticks[0]?.findings ?? []).includes('plan/read-back-differs')).toBe(isLaidOver);
    expect((await look(stick)).verdict).toBe(verdict);
  });
});

describe('a person who says no', { tags: ['plan-before-touch'] }, () => {
  test('leaves every stick as it is; what was refused stays refused', async () => {
    const [good, bad] = [await newStick(), await putInto(await newStick(), { 'sedge_boot.pkg': Buffer.from('other') })];
    for (const stick of [good, bad]) deviceOf(stick).writes = 0;
    const asked: string[][] = [];
    const request = { ...(await requestFor({ archivePath, targets: [good, bad] })), agreed: false };
    const report = await prepareSticks(request, memoryPorts, {
      tell: () => {},
      signal: new AbortController().signal,
      propose: async () => {},
      agree: async (sticks) => {
        asked.push(sticks.map(({ state }) => state));
        return false;
      },
    });
    expect(asked).toEqual([['planned', 'refused']]);
    expect(report.sticks.map(({ state, verdict }) => [state, verdict])).toEqual([
      ['declined', 'not-ready'],
      ['refused', 'not-ready'],
    ]);
    expect([deviceOf(good).writes, deviceOf(bad).writes]).toEqual([0, 0]);
  });

  test('is not asked where nothing could be written, nor in a dry run', async () => {
    const bad = await putInto(await newStick(), { 'sedge_boot.pkg': Buffer.from('other') });
    const ask = async (targets: readonly string[], dryRun: boolean) => {
      let asked = 0;
      const opened: string[] = [];
      const request = { ...(await requestFor({ archivePath, targets })), agreed: false, dryRun };
      const openVolume: OpenVolume = (target, access, options) => {
        opened.push(access);
        return memoryPorts.openVolume(target, access, options);
      };
      const report = await prepareSticks(
        request,
        { ...memoryPorts, openVolume },
        {
          tell: () => {},
          signal: new AbortController().signal,
          propose: async () => {},
          agree: async () => ++asked > 0,
        },
      );
      return [asked, report.sticks.map(({ state }) => state), new Set(opened)];
    };
    expect(await ask([bad], false)).toEqual([0, ['refused'], new Set(['write'])]);
    expect(await ask([await newStick()], true)).toEqual([0, ['planned'], new Set(['read'])]);
    const { report: dry } = await prepare({ archivePath, targets: [await newStick()], dryRun: true });
    expect(dry).toMatchObject({ verdict: 'ready', sticks: [{ state: 'planned', verdict: 'ready' }] });
    expect(await ask([await newStick()], false)).toEqual([1, ['written'], new Set(['write', 'read'])]);
  });
});

describe('a stick that fails', { tags: ['work-goes-on'] }, () => {
  test('ends for itself, wherever it is, and the others are finished', async () => {
    for (const [way, when] of [
      ['makeFolder', /^SW-PART/],
      ['create', /touch\.img/],
      ['makeFolder', /^SW-DONE/],
      ['rename', /^SW-PART/],
      ['rename', /^SW-DONE/],
    ] as const) {
      const sticks = [await newStick(), await newStick()];
      const ports = portsWith(failing(way, 'stick/write-failed', when), sticks[0]);
      const { report, events } = await prepare({ archivePath, targets: sticks }, ports);
      expect(report).toMatchObject({
        verdict: 'not-ready',
        sticks: [
          { state: 'unfinished', verdict: 'not-ready', error: { code: 'stick/write-failed' } },
          { state: 'written', verdict: 'ready', error: undefined },
        ],
      });
      const ends = events.flatMap((event) => (event.kind === 'end' ? [[event.target, event.state]] : []));
      expect(ends.toSorted()).toEqual([
        [sticks[0], 'unfinished'],
        [sticks[1], 'written'],
      ]);
    }
  });

  test('before there is a plan has none, and its facts as far as it was opened; all are let go', async () => {
    const sticks = [await newStick(), 'not/there', await newStick()];
    let open = 0;
    const ports = {
      ...memoryPorts,
      openVolume: openingWith((volume, access) => {
        open++;
        return {
          close: async () => {
            open--;
            await volume.close();
          },
          ...(access === 'write' && volume.facts.target === sticks[2]
            ? { entries: async () => Promise.reject(new ToolError('stick/gone', 'x', 'so it is', 'Do this.')) }
            : {}),
        };
      }),
    };
    const { report } = await prepare({ archivePath, targets: sticks }, ports);
    expect(report.sticks).toMatchObject([
      { state: 'written', facts: { target: sticks[0] }, plan: { mode: 'recovery' } },
      { state: 'failed', facts: undefined, plan: undefined, findings: [], error: { code: 'stick/not-found' } },
      { state: 'failed', facts: { target: sticks[2] }, plan: undefined, error: { code: 'stick/gone' } },
    ]);
    expect(open).toBe(0);
  });

  test('when it is let go after all was written is not finished, and says why', async () => {
    const [stick] = (
      await prepare({ archivePath, targets: [await newStick()] }, portsWith(failing('close', 'stick/gone')))
    ).report.sticks;
    expect(stick).toMatchObject({ state: 'unfinished', verdict: 'not-ready', error: { code: 'stick/gone' } });
  });

  test('hears no more of the archive, and what it had open is closed', async () => {
    const stick = await newStick();
    let writes = 0;
    const { told, ports } = traced((volume) => ({
      create: async (path: string, bytes: number) => {
        const writer = await volume.create(path, bytes);
        return {
          write: async () => {
            writes++;
            throw new ToolError('stick/full', path, 'so it is', 'Do this.');
          },
          close: async () => {
            told.push(`close ${path}`);
            await writer.close();
          },
        };
      },
    }));
    const { report } = await prepare({ archivePath, targets: [stick] }, ports);
    expect(report.sticks).toMatchObject([{ state: 'unfinished', error: { code: 'stick/full' } }]);
    expect(writes).toBe(1);
    expect(told.filter((line) => line.startsWith('close'))).toEqual(['close SW-PART.TMP/sedge_boot.pkg']);
  });

  test('is let go with what it had open where the archive fails in the middle of a file', async () => {
    const { told, ports } = traced();
    const openArchive: Ports['openArchive'] = async (path) => {
      const archive = await ports.openArchive(path);
      return {
        ...archive,
        readThrough: (listener, ...more) =>
          archive.readThrough(
            {
              ...listener,
              entryEnd: async () => {
                throw new ToolError('file/unreadable', path, 'so it is', 'Do this.');
              },
            },
            ...more,
          ),
      };
    };
    const preparing = prepare({ archivePath, targets: [await newStick()] }, { ...ports, openArchive });
    await expect(preparing).rejects.toMatchObject({ code: 'file/unreadable' });
    expect(told.filter((line) => /sedge_boot/.test(line))).toEqual([
      'create SW-PART.TMP/sedge_boot.pkg',
      'close SW-PART.TMP/sedge_boot.pkg',
    ]);
  });

  test('by a fault of the tool is told as that, and the others are finished', async () => {
    const sticks = [await newStick(), await newStick()];
    const ports = portsWith(
      () => ({
        freeBytes: async () => 0,
        makeFolder: async () => {
          throw new RangeError('not foreseen');
        },
      }),
      sticks[0],
    );
    const { report } = await prepare({ archivePath, targets: sticks }, ports);
    expect(report.sticks).toMatchObject([{ state: 'unfinished', error: { code: 'bug' } }, { state: 'written' }]);
  });

  test('is another one by then: it is failed, and nothing is written to it', async () => {
    const sticks = [await newStick(), await newStick()];
    for (const stick of sticks) deviceOf(stick).writes = 0;
    const ports = {
      ...memoryPorts,
      openVolume: openingWith((volume, access) =>
        access === 'read' && volume.facts.target === sticks[0]
          ? { facts: { ...volume.facts, volumeSerial: '0000-0000' } }
          : {},
      ),
    };
    const { report, events } = await prepare({ archivePath, targets: sticks }, ports);
    expect(report.sticks).toMatchObject([{ state: 'failed', error: { code: 'stick/swapped' } }, { state: 'written' }]);
    expect(deviceOf(sticks[0] ?? '').writes).toBe(0);
    expect(events.filter((event) => event.kind === 'end' && event.target === sticks[0])).toMatchObject([
      { state: 'failed' },
    ]);
  });
});

/** Of a FAT32 volume at 1 MiB (FAT specification 1.03: BPB_RsvdSecCnt at 14, BPB_FATSz32 at 36); no file lies there. */
function middleOfSecondTable(device: MemoryDevice): number {
  const boot = Buffer.from(device.bytes(2 ** 20, 512));
  return 2 ** 20 + (boot.readUInt16LE(14) + Math.floor(1.5 * boot.readUInt32LE(36))) * 512;
}

describe('what comes back otherwise', { tags: ['ready-means-read-back'] }, () => {
  test('is named, firmware or record, and nothing gets its final name', async () => {
    const { told, ports } = traced(lying(/^SW-PART\.TMP\/images\/touch/));
    const { report, events } = await prepare({ archivePath, targets: [await newStick()] }, ports);
    expect(report.sticks).toMatchObject([{ state: 'unfinished', verdict: 'not-ready', error: undefined }]);
    const { findings = [], manifest } = report.sticks[0] ?? {};
    expect(findings).toContainEqual({
      code: 'plan/read-back-differs',
      subject: 'images/touch.img',
      facts: { expected: sha256(firmwareTree['images/touch.img'] ?? Buffer.alloc(0)), got: expect.any(String) },
    });
    expect([manifest, told.filter((line) => /^rename|SW-DONE/.test(line))]).toEqual([undefined, []]);
    expect(events.at(-1)).toMatchObject({ kind: 'end', state: 'unfinished' });
    for (const name of ['checksums.sha256', 'MANIFEST.NEW']) {
      const record = traced(lying(new RegExp(`^SW-DONE\\.TMP/${name}`)));
      const { report: other } = await prepare({ archivePath, targets: [await newStick()] }, record.ports);
      expect(other.sticks).toMatchObject([
        { state: 'unfinished', error: { code: 'stick/read-failed', subject: `SW-DONE.TMP/${name}` } },
      ]);
      expect(record.told.filter((line) => /^rename/.test(line))).toEqual([]);
    }
  });

  test('out of the computer’s memory, were it one file, is unproven in report and record; so is an image', async () => {
    for (const path of ['SW-PART.TMP/sedge_boot.pkg', 'SW-PART.TMP/release-note.txt']) {
      const ports = portsWith((volume) => ({
        open: async (at, how) => {
          const reader = await volume.open(at, how);
          return at === path ? { readBack: 'cache' as const, chunks: () => reader.chunks() } : reader;
        },
      }));
      const [stick] = (await prepare({ archivePath, targets: [await newStick()] }, ports)).report.sticks;
      expect(stick).toMatchObject({ state: 'written', verdict: 'unproven', manifest: { readBack: 'cache' } });
      expect(codesOf(stick?.findings ?? [])).toContain('plan/read-back-from-cache');
    }
    const [image] = (await prepare({ archivePath, targets: [await newStick()], asImage: true })).report.sticks;
    expect(image).toMatchObject({ state: 'written', manifest: { readBack: 'cache' } });
    expect(codesOf(image?.findings ?? [])).toContain('plan/image-to-copy');
    const [plain] = (await prepare({ archivePath, targets: [await newStick()] })).report.sticks;
    expect(plain).toMatchObject({ verdict: 'ready', manifest: { readBack: 'medium' } });
  });

  test('and what the system cannot bring to the medium is to be ejected, written now or before', async () => {
    const ports = portsWith(() => ({ settle: async () => false }));
    const stick = await newStick();
    for (const state of ['written', 'unchanged']) {
      const [answer] = (await prepare({ archivePath, targets: [stick] }, ports)).report.sticks;
      expect(answer).toMatchObject({ state, verdict: 'unproven' });
      expect(codesOf(answer?.findings ?? [])).toContain('stick/eject-due');
    }
  });

  test('and what the sectors say when all has its place is said once, and counts', async () => {
    const stick = await newStick();
    await prepare({ archivePath, targets: [stick] });
    for (const [target, state] of [
      [await newStick(), 'written'],
      [stick, 'unchanged'],
    ] as const) {
      const device = deviceOf(target);
      let looks = 0;
      const auditMedium: Ports['auditMedium'] = async (...asked) => {
        if (++looks === 2) device.putBytes(middleOfSecondTable(device), Uint8Array.of(0xff, 0xff, 0xff, 0x0f));
        return memoryPorts.auditMedium(...asked);
      };
      const [answer] = (await prepare({ archivePath, targets: [target] }, { ...memoryPorts, auditMedium })).report
        .sticks;
      expect([answer?.state, looks]).toEqual([state, 2]);
      const said = answer?.findings.filter(({ code }) => /^medium\/|needs-repair/.test(code)) ?? [];
      expect(codesOf(said).toSorted()).toEqual(['medium/hidden-sectors-differ', 'stick/needs-repair']);
      expect(said).toContainEqual(expect.objectContaining({ facts: { codes: ['medium/fat-copies-differ'] } }));
    }
  });

  test('slowly is said with how much and how long, once it is enough to say so', async () => {
    const archive = async (bytes: number) =>
      makeArchive(mkdtempSync(join(folder, 'large-')), { ...firmwareTree, 'images/large.img': Buffer.alloc(bytes, 7) });
    let nowMs = 0;
    const clock = vi.spyOn(performance, 'now').mockImplementation(() => nowMs);
    try {
      const slow = portsWith((volume) => ({
        create: async (path, bytes) => {
          const writer = await volume.create(path, bytes);
          return {
            write: (chunk) => {
              nowMs += path.endsWith('large.img') ? chunk.byteLength / 500 : 0;
              return writer.write(chunk);
            },
            close: async () => {
              nowMs += 100;
              await writer.close();
            },
          };
        },
        flush: async () => {
          nowMs += 1000;
          await volume.flush();
        },
      }));
      const said = async (bytes: number) => {
        const wish = { archivePath: await archive(bytes), targets: [await newStick()] };
        const [stick] = (await prepare(wish, slow)).report.sticks;
        return stick?.findings.filter(({ code }) => code === 'stick/slow');
      };
      const others = Object.values(firmwareTree).reduce((sum, { length }) => sum + length, 0);
      // Six files are closed, and one flush waited for, before it is read back.
      expect(await said(9_000_000)).toMatchObject([{ facts: { bytes: 9_000_000 + others, ms: 18_000 + 600 + 1000 } }]);
      expect(await said(4_000_000)).toEqual([]);
    } finally {
      clock.mockRestore();
    }
  });
});
