import { spawnSync } from 'node:child_process';
import { appendFileSync, mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { PassListener } from '../../src/io/archive/archive.ts';
import { openFatVolume } from '../../src/io/volume/fat/open-fat-volume.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { OpenVolume } from '../../src/io/volume/volume.ts';
import type { Ports } from '../../src/workflows/ports.ts';
import { prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { smallTree } from '../fixtures/cut-scenarios.ts';
import { type Command, fill, listMemory, memoryTarget, portsFor, runOn, verifyMemory } from '../fixtures/cut-sticks.ts';
import { contentAt, makeArchive, noise, prepare, requestFor, sha256, testPorts } from '../fixtures/desk.ts';
import { MemoryDevice } from '../fixtures/volumes/memory-device.ts';
import { attachLoop, canMount, mountVolume, programsFor, unmount } from '../fixtures/volumes/mounts.ts';
import { makeMemoryFat } from '../fixtures/volumes/open-memory.ts';
import { seeded, WriteLog } from '../fixtures/volumes/power-cuts.ts';
import { makeFatImage, makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

let folder: string;
let archivePath: string;
let command: Command;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright faults-'));
  archivePath = await makeArchive(folder, smallTree);
  command = { archivePath, mode: 'recovery', leftovers: 'stop' };
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const fat32 = { kind: 'fat32', clusterBytes: 512, partitioned: true } as const;
const newStick = (): Promise<MemoryDevice> => makeMemoryFat(36 * 2 ** 20, fat32);
const newImage = (name: string): Promise<string> => makeFatImage(join(folder, name), 36 * 2 ** 20, fat32);

/** Ports whose archive tells DO when an entry has been read. */
const portsThatHear = (ports: Ports, hear: Pick<PassListener, 'entryStart' | 'entryEnd'>): Ports => ({
  ...ports,
  openArchive: async (path) => {
    const opened = await ports.openArchive(path);
    return {
      ...opened,
      close: () => opened.close(),
      readThrough: (listener, signal, options) =>
        opened.readThrough(
          {
            ...listener,
            entryStart: async (entry) => {
              await hear.entryStart?.(entry);
              await listener.entryStart?.(entry);
            },
            entryEnd: async (entry, reading, sound) => {
              await listener.entryEnd?.(entry, reading, sound);
              await hear.entryEnd?.(entry, reading, sound);
            },
          },
          signal,
          options,
        ),
    };
  },
});

const verify = (target: string) =>
  verifyStick({ target, label: undefined, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

const isFirmwareWhole = (content: Readonly<Record<string, string>>): boolean =>
  Object.entries(smallTree).every(([path, bytes]) => content[path] === sha256(bytes));

describe('a stick that fails', { tags: ['work-goes-on'] }, () => {
  // The device throws what an operating system's EIO becomes; every access is tried in its turn, or a sample of them.
  for (const doing of ['write', 'read'] as const) {
    it(`at any ${doing} tells it, never looks ready, and is finished by the same command once it works`, async () => {
      const personal = { 'letter.txt': Buffer.from('mine') };
      const counted = await newStick();
      await fill(counted, personal);
      const start = counted.copy();
      let accesses = 0;
      if (doing === 'write') counted.beforeWrite = () => void accesses++;
      else counted.beforeRead = () => void accesses++;
      await runOn(counted, command);
      const random = seeded(doing === 'write' ? 3 : 4);
      const all = process.env.STICKWRIGHT_CUTS === 'all';
      const tried = Array.from({ length: accesses }, (_, at) => at).filter(() => all || random() < 18 / accesses);
      expect(tried.length).toBeGreaterThan(5);
      for (const at of tried) {
        const device = start.copy();
        let count = 0;
        const hook = (): void => {
          if (count++ >= at) throw new ToolError(`stick/${doing}-failed`, memoryTarget, 'EIO', 'Try another port.');
        };
        if (doing === 'write') device.beforeWrite = hook;
        else device.beforeRead = hook;
        const { report } = await runOn(device, command);
        const [stick] = report.sticks;
        // While the medium itself is looked at, a sector that cannot be read is an answer and no fault.
        const said = [stick?.error?.code ?? '', ...(stick?.findings ?? []).map(({ code }) => code)];
        const isTold = said.some((code) => code === `stick/${doing}-failed` || code === 'medium/unreadable-sectors');
        expect([at, isTold, said]).toEqual([at, true, said]);
        expect(report.verdict).toBe('not-ready');
        const healed = device.copy();
        const before = await verifyMemory(healed.copy());
        // The last write can have arrived before the failure that was told.
        if (before.verdict !== 'not-ready') expect(isFirmwareWhole(await listMemory(healed.copy()))).toBe(true);
        const { report: again } = await runOn(healed, command);
        // Where something is not proven the record is written anew: it may be proven by then.
        expect([at, again.sticks[0]?.error?.message, again.sticks[0]?.state]).toEqual([
          at,
          undefined,
          before.verdict === 'ready' ? 'unchanged' : 'written',
        ]);
        expect((await verifyMemory(healed.copy())).verdict).not.toBe('not-ready');
        expect(await listMemory(healed)).toMatchObject({ 'letter.txt': sha256(Buffer.from('mine')) });
      }
      process.stdout.write(`${doing} faults: ${tried.length} of ${accesses} places tried\n`);
    });
  }

  it('with wrong data on read-back is not ready, and nothing got its final name', async () => {
    const device = await newStick();
    const openLying: OpenVolume = async (_target, access) => {
      if (access === 'read') return portsFor(device).openVolume(memoryTarget, 'read');
      return openFatVolume({
        device,
        openFresh: () => ({ device: new LyingDevice(device), readBack: 'medium' }),
        target: memoryTarget,
        kind: 'image',
        writeProtected: false,
        drive: undefined,
      });
    };
    const { report } = await prepare(
      { ...command, targets: [memoryTarget] },
      { ...portsFor(device), openVolume: openLying },
    );
    const [stick] = report.sticks;
    expect(stick?.findings.map(({ code }) => code)).toContain('plan/read-back-differs');
    expect(stick?.verdict).toBe('not-ready');
    expect(Object.keys(await listMemory(device.copy())).filter((path) => !path.startsWith('SW-PART.TMP'))).toEqual([]);
    expect((await runOn(device, command)).report.sticks[0]?.state).toBe('written');
  });

  it('that says it is read-only when it is opened is refused, with what to do', async () => {
    const device = await newStick();
    const openProtected: OpenVolume = async () =>
      openFatVolume({
        device,
        openFresh: () => ({ device, readBack: 'medium' }),
        target: memoryTarget,
        kind: 'image',
        writeProtected: true,
        drive: undefined,
      });
    const { report } = await prepare(
      { ...command, targets: [memoryTarget] },
      { ...portsFor(device), openVolume: openProtected },
    );
    expect(report.sticks[0]?.findings.map(({ code }) => code)).toContain('stick/read-only');
    expect(report.sticks[0]?.state).toBe('refused');
  });
});

/** Gives back one wrong bit in each larger read, as a worn or counterfeit stick does. */
class LyingDevice extends MemoryDevice {
  readonly #honest: MemoryDevice;

  constructor(honest: MemoryDevice) {
    super(honest.sizeBytes);
    this.#honest = honest;
  }

  override readSectors(first: number, into: Uint8Array): void {
    this.#honest.readSectors(first, into);
    if (into.length > 4096) into[100] = (into[100] ?? 0) ^ 1;
  }
}

describe('a stick that is too small', () => {
  it('is found at the plan, and not one byte of it changes', async () => {
    const device = await newStick();
    await fill(device, { 'film.mkv': Buffer.alloc(35_600_000, 7) });
    const log = new WriteLog(device);
    const { report } = await runOn(device, {
      ...command,
      archivePath: await makeArchive(
        folder,
        { ...smallTree, 'images/more.img': noise(2, 900_000) },
        'reed.1718_5B_second_K2.zip',
      ),
    });
    expect(report.sticks[0]?.findings.map(({ code }) => code)).toContain('plan/does-not-fit');
    expect(log.writes.length).toBe(0);
  });

  it('in spite of the plan stops in the middle and says so; with room again the same command goes on', async () => {
    const target = join(folder, 'shrinking stick');
    mkdirSync(target);
    let full = true;
    const openFull: OpenVolume = async (at, access) => {
      const volume = await openVolume(at, access);
      const create = volume.create.bind(volume);
      volume.create = async (path, bytes) => {
        const writer = await create(path, bytes);
        const write = writer.write.bind(writer);
        writer.write = async (chunk) => {
          if (full && path.endsWith('system.img')) {
            throw new ToolError('stick/full', path, 'the stick is full (ENOSPC)', 'Free some space on the stick.');
          }
          await write(chunk);
        };
        return writer;
      };
      return volume;
    };
    const wish = { ...command, targets: [target], accepted: folderAccepted };
    const { report } = await prepare(wish, { ...testPorts, openVolume: openFull });
    expect(report.sticks[0]).toMatchObject({
      state: 'unfinished',
      verdict: 'not-ready',
      error: { code: 'stick/full' },
    });
    expect((await verify(target)).findings.map(({ code }) => code)).toEqual(['verify/unfinished']);
    full = false;
    const { report: again } = await prepare(wish, { ...testPorts, openVolume: openFull });
    expect(again.sticks[0]?.state).toBe('written');
    expect(isFirmwareWhole(await contentAt(target))).toBe(true);
  });
});

/** A folder on the desk's own disk is no stick of any panel: accepted here as a person would have to. */
const folderAccepted = new Map(
  [
    'file-system-not-taken',
    'partition-table-not-taken',
    'larger-than-the-panel-takes',
    'several-partitions',
    'not-a-removable-drive',
  ].map((code) => [`stick/${code}`, 'a folder in a test']),
);

describe('a stick that changes between the plan and the first write', () => {
  const runWithPause = async (target: string, whileAsked: () => void | Promise<void>) => {
    const request = {
      ...(await requestFor({ ...command, targets: [target], accepted: folderAccepted })),
      agreed: false,
    };
    return prepareSticks(request, testPorts, {
      tell: () => {},
      signal: new AbortController().signal,
      propose: async () => {},
      agree: async () => {
        await whileAsked();
        return true;
      },
    });
  };

  it('is another stick: nothing is written to either', async () => {
    const [target, other] = [await newImage('stick 1.img'), await newImage('stick 2.img')];
    const image = readFileSync(other);
    image.writeUInt32LE(0xabcd1234, 2 ** 20 + 67); // BS_VolID of the FAT32 boot sector
    writeFileSync(other, image);
    const taken = `${target} in a pocket`;
    const [before, beforeOther] = [sha256(readFileSync(target)), sha256(readFileSync(other))];
    const report = await runWithPause(target, () => {
      renameSync(target, taken);
      renameSync(other, target);
    });
    expect(report.sticks[0]).toMatchObject({ verdict: 'not-ready', error: { code: 'stick/swapped' } });
    expect([sha256(readFileSync(taken)), sha256(readFileSync(target))]).toEqual([before, beforeOther]);
  });

  it('got something new: the plan is no longer true, and nothing is written', async () => {
    const target = join(folder, 'busy stick');
    mkdirSync(target);
    const report = await runWithPause(target, () => writeFileSync(join(target, 'just now.txt'), 'mine'));
    expect(report.sticks[0]).toMatchObject({ verdict: 'not-ready', error: { code: 'stick/swapped' } });
    expect(Object.keys(await contentAt(target))).toEqual(['just now.txt']);
  });
});

describe('an archive that changes while it is read', () => {
  it('stops everything; the stick says not ready, and a good archive goes on', async () => {
    const changing = await makeArchive(folder, smallTree, 'reed.1734_5B_second_K2.zip');
    const whole = readFileSync(changing);
    const device = await newStick();
    const ports = portsThatHear(portsFor(device), {
      entryEnd: (entry) => {
        if (entry.name === 'images/system.img') appendFileSync(changing, 'more');
      },
    });
    const wish = { ...command, archivePath: changing, targets: [memoryTarget] };
    await expect(prepare(wish, ports)).rejects.toMatchObject({ code: 'file/changed-while-read' });
    expect((await verifyMemory(device.copy())).verdict).toBe('not-ready');
    writeFileSync(changing, whole);
    expect((await prepare(wish, portsFor(device))).report.sticks[0]?.state).toBe('written');
  });
});

describe('a clock that jumps', () => {
  it('back before FAT begins, and forward beyond its end, changes nothing but the times that are told', async () => {
    for (const times of [
      ['2026-11-02T07:30:00.000Z', '1970-01-01T00:00:00.000Z'],
      ['2026-11-02T07:30:00.000Z', '2140-01-01T00:00:00.000Z'],
    ]) {
      const device = await newStick();
      await fill(device, { 'old_firmware.bin': Buffer.from('old') });
      let asked = 0;
      const now = (): string => times[Math.min(asked++, 1)] ?? '';
      const ports = portsFor(device, now);
      const { report } = await prepare({ ...command, leftovers: 'set-aside', targets: [memoryTarget] }, ports);
      expect(report.sticks[0]?.state).toBe('written');
      expect(report.sticks[0]?.manifest?.preparedAt).toBe(times[1]);
      expect((await verifyMemory(device.copy())).verdict).not.toBe('not-ready');
    }
  });

  it('to the very same second does not put two set-aside folders into one', async () => {
    const device = await newStick();
    for (const round of ['first', 'second']) {
      await fill(device, { 'old_firmware.bin': Buffer.from(round) });
      await runOn(device, { ...command, leftovers: 'set-aside' });
    }
    const content = await listMemory(device);
    expect(content['set-aside-20261102T073000Z/old_firmware.bin.set-aside']).toBe(sha256(Buffer.from('first')));
    expect(content['set-aside-20261102T073000Z-2/old_firmware.bin.set-aside']).toBe(sha256(Buffer.from('second')));
  });
});

describe('names with spaces and letters of any script', () => {
  it('come through, on FAT and in a folder, in archive, stick and target', async () => {
    const place = join(folder, 'Größe – 教室 früh');
    mkdirSync(place);
    const tree = { ...smallTree, 'images/tön ß 教室.img': noise(4, 300), 'Ordner mit Leerzeichen/é.bin': noise(5, 10) };
    const archive = await makeArchive(place, tree);
    const image = await makeFatImage(join(place, 'der Stick.img'), 36 * 2 ** 20, fat32);
    const target = join(place, 'ein Stick ñ');
    mkdirSync(target);
    const { report } = await prepare({
      ...command,
      archivePath: archive,
      targets: [image, target],
      accepted: folderAccepted,
    });
    expect(report.sticks.map(({ state }) => state)).toEqual(['written', 'written']);
    for (const at of [image, target]) {
      expect((await verify(at)).verdict).not.toBe('not-ready');
      expect(await contentAt(at)).toMatchObject({ 'images/tön ß 教室.img': sha256(noise(4, 300)) });
    }
  });
});

describe('a real stick', () => {
  let scratch: Scratch;
  beforeAll(() => {
    scratch = makeScratch();
  });
  afterAll(() => scratch.undo());
  const mounting = (programs: Readonly<Record<string, string>>) =>
    canMount ? needs(programs) : itWithout('the right to mount (run as root)');

  mounting(programsFor.tmpfs)(
    'whose mount vanishes in the middle is gone; nothing lands on the computer instead',
    async () => {
      const point = mountVolume(scratch, 'tmpfs', 8);
      const ports = portsThatHear(testPorts, {
        entryEnd: (entry) => {
          if (entry.name === 'sedge_boot.pkg') unmount(point);
        },
      });
      const { report } = await prepare({ ...command, targets: [point], accepted: folderAccepted }, ports);
      expect(report.sticks[0]).toMatchObject({
        state: 'unfinished',
        verdict: 'not-ready',
        error: { code: 'stick/gone' },
      });
      expect(Object.keys(await contentAt(point))).toEqual([]);
    },
  );

  mounting({ losetup: 'mount', blockdev: 'util-linux' })(
    'with its lock switch on says so, and stays as it is',
    async () => {
      const image = await newImage('switched.img');
      const device = attachLoop(scratch, image);
      spawnSync('blockdev', ['--setro', device]);
      // the number keeps the mark when it is used again
      scratch.later(() => spawnSync('blockdev', ['--setrw', device]));
      const before = sha256(readFileSync(image));
      const { report } = await prepare({ ...command, targets: [device] });
      const said = [report.sticks[0]?.error?.code, ...(report.sticks[0]?.findings ?? []).map(({ code }) => code)];
      expect(
        said.some((code) => code === 'stick/read-only' || code === 'stick/refused' || code === 'file/not-permitted'),
      ).toBe(true);
      expect(sha256(readFileSync(image))).toBe(before);
    },
  );
});
