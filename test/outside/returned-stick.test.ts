import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import type { Mode } from '../../src/core/model/mode.ts';
import { auditMediumAt } from '../../src/io/medium/audit-medium-at.ts';
import { contentAt, makeArchive, packageName, prepare, sha256 } from '../fixtures/desk.ts';
import { codesOf, comeBack } from '../fixtures/returned.ts';
import { canMount, type MountedKind, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

let folder: string;
let archivePath: string;
let scratch: Scratch;

beforeAll(async () => {
  scratch = makeScratch();
  folder = mkdtempSync(join(tmpdir(), 'stickwright outside-'));
  archivePath = await makeArchive(folder);
  writeFileSync(`${archivePath}.sha256`, `${sha256(readFileSync(archivePath))}  ${packageName}\n`);
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
  scratch.undo();
});

const volumeStart = 2 ** 20;
const volumeOf = (image: string): string => `${image}@@${volumeStart}`;

async function preparedImage(name: string, mode: Mode, kind: 'fat16' | 'fat32' = 'fat32'): Promise<string> {
  const image = join(folder, name);
  const clusterBytes = kind === 'fat32' ? 512 : 4096;
  await makeFatImage(image, 64 * 2 ** 20, { kind, clusterBytes, partitioned: true });
  copyOnto(image, 'letter.txt', 'mine');
  const accepted = new Map([['stick/file-system-not-taken', 'FAT16 in a test']]);
  const { report } = await prepare({ archivePath, targets: [image], mode, ...(kind === 'fat16' ? { accepted } : {}) });
  expect(report.sticks[0]?.state).toBe('written');
  return image;
}

/** GNU mtools writes as another system does. */
function copyOnto(image: string, path: string, text: string): void {
  const file = join(folder, 'to copy');
  writeFileSync(file, text);
  run('mcopy', '-o', '-i', volumeOf(image), file, `::/${path}`);
}

function makeFolders(image: string, ...paths: readonly string[]): void {
  for (const path of paths) run('mmd', '-i', volumeOf(image), `::/${path}`);
}

/**
 * A visit to a panel, as AOSP's source tells it. vold, fs/Vfat.cpp, Mount: LOST.DIR is made, empty, where it is
 * missing. VolumeManager.cpp, setupAppDir: Android/data/<app> on public volumes. MediaProvider.java,
 * ensureDefaultFolders: nine folders. Linux fs/fat/inode.c, fat_set_state: bit 0 of the state byte (offset 65, or 37)
 * while it is mounted; it stays when the stick is pulled.
 */
function visitPanel(image: string, kind: 'fat16' | 'fat32'): void {
  makeFolders(image, 'LOST.DIR', 'Android', 'Android/data', 'Android/data/com.example.board');
  makeFolders(image, 'Android/data/com.example.board/files');
  const media = ['Music', 'Podcasts', 'Ringtones', 'Alarms', 'Notifications', 'Pictures', 'Movies', 'Download', 'DCIM'];
  makeFolders(image, ...media);
  const at = volumeStart + (kind === 'fat32' ? 65 : 37);
  execFileSync('dd', [`of=${image}`, 'bs=1', `seek=${at}`, 'conv=notrunc', 'status=none'], { input: '\x01' });
}

/** What Windows and macOS leave, with the attributes that they give it (common practice). */
function visitDesks(image: string): void {
  makeFolders(image, 'System Volume Information', '$RECYCLE.BIN', '.fseventsd', '.Spotlight-V100', '.Trashes');
  copyOnto(image, 'System Volume Information/WPSettings.dat', '0123456789ab');
  copyOnto(image, 'System Volume Information/IndexerVolumeGuid', '{11111111-2222-3333-4444-555555555555}');
  copyOnto(image, '$RECYCLE.BIN/desktop.ini', '[.ShellClassInfo]\r\n');
  copyOnto(image, '.fseventsd/fseventsd-uuid', '11111111-2222-3333-4444-555555555555');
  copyOnto(image, '.DS_Store', 'Bud1');
  run('mattrib', '+h', '+s', '-i', volumeOf(image), '::/System Volume Information', '::/$RECYCLE.BIN');
  run('mattrib', '+h', '-i', volumeOf(image), '::/.DS_Store');
}

/** The volume behind the table, as fsck.fat (dosfstools) takes it. */
function fsck(image: string): { readonly status: number | null; readonly said: string } {
  const volume = join(folder, 'volume.img');
  execFileSync('dd', [`if=${image}`, `of=${volume}`, 'bs=1M', 'skip=1', 'status=none']);
  const { status, stdout, stderr } = spawnSync('fsck.fat', ['-n', '-v', volume], { encoding: 'utf8' });
  return { status, said: stdout + stderr };
}

const listed = (image: string): readonly string[] =>
  run('mdir', '-/', '-b', '-a', '-i', volumeOf(image))
    .trim()
    .split('\n')
    .filter((line) => line !== '');

const tools = { mcopy: 'mtools', mattrib: 'mtools', 'fsck.fat': 'dosfstools' };

describe('a stick that was in a panel and in computers', () => {
  for (const kind of ['fat32', 'fat16'] as const) {
    for (const mode of ['recovery', 'in-os'] as const) {
      needs(tools)(`is told as such, cleared, sound for fsck.fat, and prepared again (${kind}, ${mode})`, async () => {
        const image = await preparedImage(`visited ${kind} ${mode}.img`, mode, kind);
        visitPanel(image, kind);
        visitDesks(image);
        copyOnto(image, 'last_log', 'E: signature verification failed\n');
        expect(fsck(image).said).toMatch(/dirty bit/i); // the visit is one for another reader, too
        const seen = await comeBack({ target: image });
        expect(codesOf(seen.findings)).toEqual(
          expect.arrayContaining([
            'returned/unchanged',
            'returned/visited',
            'returned/logs-left',
            'returned/was-at-a-desk',
            'returned/not-ejected',
          ]),
        );
        expect([seen.conclusion, seen.state]).toEqual(['prepare-anew', 'visited']);
        const kept = join(folder, `kept ${kind} ${mode}`);
        const cleared = await comeBack({ target: image, clear: true, keepLeft: kept });
        expect(cleared.clearing.state).toBe('cleared');
        expect(readFileSync(join(cleared.kept?.folder ?? '', 'last_log'), 'utf8')).toMatch(/signature/);
        expect(listed(image)).toEqual(['::/letter.txt']);
        const { status, said } = fsck(image);
        expect(said).not.toMatch(/dirty|differences|orphan|reclaim|free cluster summary wrong/i);
        expect(status).toBe(0);
        const accepted = new Map([['stick/file-system-not-taken', 'FAT16 in a test']]);
        const again = await prepare({ archivePath, targets: [image], mode, accepted });
        expect(again.report.sticks[0]?.state).toBe('written');
        expect(again.report.sticks[0]?.plan?.items.some(({ action }) => action === 'remove')).toBe(false);
        if (kind === 'fat32') expect(again.report.sticks[0]?.verdict).not.toBe('not-ready');
      });
    }
  }

  needs(tools)('whose firmware was replaced by other bytes of the same number is told as such', async () => {
    const image = await preparedImage('changed.img', 'recovery');
    run('mdel', '-i', volumeOf(image), '::/images/touch.img');
    const bytes = Buffer.alloc(4096, 7);
    writeFileSync(join(folder, 'touch.img'), bytes);
    run('mcopy', '-i', volumeOf(image), join(folder, 'touch.img'), '::/images/touch.img');
    const report = await comeBack({ target: image });
    expect(report.findings.find(({ code }) => code === 'verify/changed')?.subject).toBe('images/touch.img');
    expect([report.conclusion, report.state]).toEqual(['prepare-anew', 'changed']);
  });

  needs(tools)('whose tables are damaged is not cleared, and its mark stays', async () => {
    const image = await preparedImage('crossed.img', 'in-os');
    visitPanel(image, 'fat32');
    crossLink(image, 'letter.txt', packageName);
    const before = await contentAt(image);
    const report = await comeBack({ target: image, clear: true });
    expect(report.clearing.state).toBe('refused');
    expect(codesOf(report.clearing.findings)).toContain('returned/repair-first');
    expect(codesOf(report.findings)).toContain('returned/damaged');
    expect(report.clearing.plan?.settlesDirtyMark).toBe(false);
    expect(await contentAt(image)).toEqual(before);
    expect(fsck(image).said).toMatch(/share clusters/);
  });

  needs(tools)('with lost clusters is cleared, but its mark stays for a repair', async () => {
    const image = await preparedImage('lost.img', 'in-os');
    visitPanel(image, 'fat32');
    loseCluster(image);
    const report = await comeBack({ target: image, clear: true });
    expect([report.clearing.state, report.clearing.plan?.settlesDirtyMark]).toEqual(['cleared', false]);
    expect(codesOf(report.clearing.findings)).toEqual(['returned/repair-before-preparing']);
    expect((await auditMediumAt(image)).volumes[0]?.flaws.map(({ kind }) => kind)).toEqual(
      expect.arrayContaining(['dirty', 'lost-clusters']),
    );
  });
});

/**
 * Bytes of the boot sector by the offsets of the Microsoft FAT specification 1.03; sectors of 512 bytes, clusters of
 * one sector.
 */
function layoutOf(image: Buffer) {
  const reserved = image.readUInt16LE(volumeStart + 14);
  const fatSectors = image.readUInt32LE(volumeStart + 36);
  const table = volumeStart + reserved * 512;
  return { tables: [table, table + fatSectors * 512], data: table + 2 * fatSectors * 512, fatSectors };
}

/** Lets the file NAME begin at the first cluster of the file OTHER. */
function crossLink(path: string, name: string, other: string): void {
  const image = readFileSync(path);
  const { data } = layoutOf(image);
  const slotOf = (short: string): number => {
    const at = image.indexOf(short, data, 'latin1');
    if (at < 0) throw new Error(`no slot ${short}`);
    return at;
  };
  const [mine, theirs] = [slotOf('LETTER  TXT'), slotOf(`${other.replace('.', '').slice(0, 6).toUpperCase()}~1ZIP`)];
  expect(name).toBe('letter.txt');
  for (const at of [20, 26]) image.writeUInt16LE(image.readUInt16LE(theirs + at), mine + at);
  writeFileSync(path, image);
}

/** One cluster near the end is in use, and nobody's. */
function loseCluster(path: string): void {
  const image = readFileSync(path);
  for (const table of layoutOf(image).tables) image.writeUInt32LE(0x0fffffff, table + 100_000 * 4);
  writeFileSync(path, image);
}

/** A mount of this machine is no USB stick; everything else is judged as on one. */
const accepted = new Map([
  ['stick/partition-table-not-taken', 'a mounted image has none'],
  ['stick/file-system-not-taken', 'in a test'],
]);

const itMounted = (kind: MountedKind) =>
  canMount ? needs(programsFor[kind]) : itWithout('the right to mount (run as root)');

describe('a mounted stick that came back', () => {
  for (const kind of ['fat32', 'exfat', 'ext4'] as const) {
    for (const mode of ['recovery', 'in-os'] as const) {
      if (kind === 'exfat' && mode === 'recovery') continue;
      itMounted(kind)(`is cleared through its driver, and prepared again (${kind}, ${mode})`, async () => {
        const own = makeScratch();
        scratch.later(() => own.undo());
        const point = mountVolume(own, kind, 64);
        writeFileSync(join(point, 'letter.txt'), 'mine');
        const job = { archivePath, targets: [point], mode, accepted };
        expect((await prepare(job)).report.sticks[0]?.state).toBe('written');
        for (const path of ['LOST.DIR', 'Android/data/com.example.board', 'System Volume Information'])
          mkdirSync(join(point, path), { recursive: true });
        for (const path of ['update.log', 'System Volume Information/WPSettings.dat', 'Android/data/.nomedia']) {
          mkdirSync(dirname(join(point, path)), { recursive: true });
          writeFileSync(join(point, path), path.endsWith('.nomedia') ? '' : 'content');
        }
        const report = await comeBack({ target: point, clear: true, keepLeft: join(own.path, 'kept') });
        expect([report.state, report.clearing.state]).toEqual(['visited', 'cleared']);
        expect(await contentAt(point)).toEqual({ 'letter.txt': sha256(Buffer.from('mine')) });
        const again = await prepare(job);
        expect(again.report.sticks[0]?.state).toBe('written');
        expect((await comeBack({ target: point })).state).toBe('unchanged');
      });
    }
  }
});
