import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Mode } from '../../src/core/model/mode.ts';
import { smallTree } from '../fixtures/cut-scenarios.ts';
import { fill, listMemory, memoryTarget, repairWithFsck, runOn, verifyMemory } from '../fixtures/cut-sticks.ts';
import { makePublishedArchive, noise, packageName, sha256 } from '../fixtures/desk.ts';
import { comeBack, leftBehind, returnedPortsFor } from '../fixtures/returned.ts';
import type { MemoryDevice } from '../fixtures/volumes/memory-device.ts';
import { makeMemoryFat } from '../fixtures/volumes/open-memory.ts';
import { seeded, WriteLog } from '../fixtures/volumes/power-cuts.ts';
import { missingPrograms, needs } from '../outside/needs.ts';

const withFsck = missingPrograms({ 'fsck.fat': 'dosfstools' }) === '';
/** `npm run cuts` repairs after every cut; without it after every eighth. */
const all = process.env.STICKWRIGHT_CUTS === 'all';

/** Somebody's: there before, or put there by nobody knows whom. */
const personal: Readonly<Record<string, Buffer>> = {
  'letters/to-whom.txt': Buffer.from('mine'),
  'photo of a trip.jpg': noise(8, 2100),
};
const stranger = { 'holiday.jpg': noise(9, 900) };

let folder: string;
beforeAll(() => {
  // Hundreds of copies are flushed: in memory where the system has such a folder.
  folder = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'stickwright returned-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Clearing {
  readonly log: WriteLog;
  readonly before: Readonly<Record<string, string>>;
  readonly keepLeft: string | undefined;
}

/**
 * A stick that was prepared, was in a panel and at a desk, was pulled without being ejected, and is cleared: every
 * write of it.
 */
async function recordClearing(mode: Mode, keeps: boolean): Promise<Clearing> {
  const own = mkdtempSync(join(folder, 'case-'));
  const archivePath = await makePublishedArchive(own, smallTree, packageName);
  const device = await makeMemoryFat(36 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
  await fill(device, personal);
  const { report } = await runOn(device, { archivePath, mode, leftovers: 'stop' });
  expect(report.sticks[0]?.state).toBe('written');
  await fill(device, visitOf(mode));
  markDirty(device);
  const before = await listMemory(device);
  const log = new WriteLog(device);
  const keepLeft = keeps ? join(own, 'kept') : undefined;
  const cleared = await comeBack({ target: memoryTarget, clear: true, keepLeft }, returnedPortsFor(device));
  expect(cleared.clearing.state).toBe('cleared');
  return { log, before, keepLeft };
}

/** `fill` makes one folder deep at a time. */
const visitOf = (mode: Mode): Readonly<Record<string, Buffer>> => ({
  'LOST.DIR/.nomedia': Buffer.alloc(0),
  ...(mode === 'recovery' ? { last_log: leftBehind.last_log ?? Buffer.alloc(0) } : {}),
  'Android/board.svg': Buffer.from('<svg/>'),
  'System Volume Information/WPSettings.dat': Buffer.from('0123456789ab'),
  ...stranger,
});

/** BS_Reserved1 bit 0 and ClnShutBitMask of FAT[1] (Microsoft FAT specification 1.03), behind a table at 1 MiB. */
function markDirty(device: MemoryDevice): void {
  const boot = device.bytes(2 ** 20, 512);
  const table = 2 ** 20 + (boot[14] ?? 0) * 512 + (boot[15] ?? 0) * 256 * 512;
  device.putBytes(2 ** 20 + 65, Uint8Array.of(1));
  device.putBytes(table + 7, Uint8Array.of(0x07));
}

const isSame = (a: Readonly<Record<string, string>>, b: Readonly<Record<string, string>>): boolean =>
  JSON.stringify(Object.entries(a).sort()) === JSON.stringify(Object.entries(b).sort());

/** Everything that no clearing may lose: somebody's on the stick, what a panel left there or at the desk. */
function lost(content: Readonly<Record<string, string>>, { before, keepLeft }: Clearing): readonly string[] {
  const desk = keepLeft === undefined ? new Set<string>() : sumsBelow(keepLeft);
  const somebodys = new Set([...Object.keys(personal), ...Object.keys(stranger)]);
  const ofPanel = ['last_log', 'Android/board.svg'].filter((path) => before[path] !== undefined);
  return [...somebodys, ...ofPanel]
    .filter((path) => content[path] !== before[path] && (somebodys.has(path) || !desk.has(before[path] ?? '')))
    .map((path) => `lost: ${path}`);
}

const sumsBelow = (top: string): ReadonlySet<string> =>
  new Set(
    readdirSync(top, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => sha256(readFileSync(join(entry.parentPath, entry.name)))),
  );

async function faultsOf(device: MemoryDevice, clearing: Clearing, name: string): Promise<readonly string[]> {
  const faults: string[] = [];
  const content = await listMemory(device);
  const { verdict } = await verifyMemory(device);
  if (verdict !== 'not-ready' && !isSame(content, clearing.before)) faults.push('ready after the clearing began');
  faults.push(...lost(content, clearing));
  const keepLeft = clearing.keepLeft === undefined ? undefined : mkdtempSync(join(folder, 'again-'));
  const again = await comeBack({ target: memoryTarget, clear: true, keepLeft }, returnedPortsFor(device));
  const after = await listMemory(device);
  const isDone = again.clearing.state === 'cleared' || again.clearing.findings[0]?.code === 'returned/nothing-to-clear';
  if (!isDone) faults.push(`not finished: ${again.clearing.state} ${again.clearing.findings.map(({ code }) => code)}`);
  const own = Object.keys(after).filter((path) => /^(stickwright|images|sedge_boot|LOST|System|reed)/i.test(path));
  if (own.length > 0) faults.push(`left behind: ${own}`);
  faults.push(...lost(after, clearing));
  return faults.map((fault) => `${name}: ${fault}`);
}

describe('power that goes while a returned stick is cleared', { tags: ['nobodys-files-vanish'] }, () => {
  for (const mode of ['recovery', 'in-os'] as const) {
    for (const keeps of [true, false]) {
      it(`${mode}, ${keeps ? 'with' : 'without'} copies: after every write, inside every write, and in any order`, async () => {
        const clearing = await recordClearing(mode, keeps);
        const { log } = clearing;
        const random = seeded(20261125);
        const media: { name: string; medium: MemoryDevice }[] = [];
        for (let count = 0; count <= log.writes.length; count++) {
          media.push({ name: `after write ${count}`, medium: log.after(count) });
          const sectors = (log.writes[count]?.bytes.length ?? 0) / 512;
          for (let at = 1; at < sectors; at++)
            media.push({ name: `in write ${count}, sector ${at}`, medium: log.tornAfter(count, at) });
          const waiting = log.writes.filter((_, index) => index < count && log.isWaiting(index, count)).length;
          if (waiting > 1) {
            const seen = new Set(log.writes.flatMap((_, index) => (random() < 0.5 ? [index] : [])));
            media.push({ name: `unordered at ${count}`, medium: log.unorderedAfter(count, (at) => seen.has(at)) });
          }
        }
        const faults: string[] = [];
        let repaired = 0;
        for (const [index, { name, medium }] of media.entries()) {
          if (withFsck && (all || index % 8 === 0)) {
            const mended = repairWithFsck(medium, folder);
            faults.push(...mended.faults, ...(await faultsOf(mended.repaired, clearing, `${name}, repaired`)));
            repaired++;
          }
          faults.push(...(await faultsOf(medium, clearing, name)));
        }
        process.stdout.write(
          `${mode}, ${keeps ? 'with' : 'without'} copies: ${log.writes.length} writes, ${media.length} cuts, ${repaired} also repaired by fsck.fat, ${faults.length} faults\n`,
        );
        expect(faults).toEqual([]);
        expect(log.writes.length).toBeGreaterThan(20);
      }, 120_000);
    }
  }
});

needs({ 'fsck.fat': 'dosfstools' })('some of them were also repaired by fsck.fat and finished then', () => {
  expect(withFsck).toBe(true);
});
