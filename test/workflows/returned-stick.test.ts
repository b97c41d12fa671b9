import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { manifestPath } from '../../src/core/manifest/stick-names.ts';
import type { Mode } from '../../src/core/model/mode.ts';
import { ToolError } from '../../src/core/model/tool-error.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { fill, memoryTarget, runOn } from '../fixtures/cut-sticks.ts';
import { firmwareTree, makePublishedArchive, sedgeFamily, sha256 } from '../fixtures/desk.ts';
import {
  contentAt,
  copyStick,
  keepStick,
  memoryPorts,
  newStick,
  openStick,
  prepare,
  putInto,
} from '../fixtures/memory-sticks.ts';
import { codesOf, comeBack, leftBehind, returnedPorts, returnedPortsFor } from '../fixtures/returned.ts';
import { makeMemoryFat, openMemory } from '../fixtures/volumes/open-memory.ts';

let folder: string;
let archivePath: string;
let own: string;

beforeAll(async () => {
  // Much is flushed here: in memory where the system has such a folder. Mounted volumes are tried in test/outside.
  folder = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'stickwright returned-'));
  archivePath = await makePublishedArchive(folder);
});
beforeEach(() => {
  own = mkdtempSync(join(folder, 'case-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A folder of this machine is no stick for panels; what it takes is judged as on one. */
const accepted = new Map(
  ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'].map((code) => [
    `stick/${code}`,
    'a folder in a test',
  ]),
);

const isFolder = { folder: true, image: false } as const;
type Kind = keyof typeof isFolder;

const prepared = new Map<string, string>();

/** A stick that was prepared while FILES were on it: each is made once, and copied. */
async function preparedStick(kind: Kind, mode: Mode, files: Readonly<Record<string, Buffer>> = {}): Promise<string> {
  const name = [kind, mode, ...Object.keys(files)].join('\n');
  const first = prepared.get(name) ?? (await prepareFirst(kind, mode, files));
  prepared.set(name, first);
  if (kind === 'image') return copyStick(first);
  const target = join(own, 'stick');
  cpSync(first, target, { recursive: true });
  return target;
}

async function prepareFirst(kind: Kind, mode: Mode, files: Readonly<Record<string, Buffer>>): Promise<string> {
  const target = kind === 'folder' ? mkdtempSync(join(folder, 'prepared ')) : await newStick();
  await putInto(target, files);
  const { report } = await prepare({ archivePath, targets: [target], mode, accepted });
  expect(report.sticks[0]?.state).toBe('written');
  return keepStick(target);
}

const verdictAt = async (target: string) =>
  (
    await verifyStick({ target, label: undefined, quick: false, replugged: true }, memoryPorts, {
      tell: () => {},
      signal: new AbortController().signal,
    })
  ).verdict;

const mine = { 'letters/to whom.txt': Buffer.from('mine') };
const kinds: readonly Kind[] = ['image', 'folder'];

for (const kind of kinds) {
  describe(`a stick that came back (${kind})`, () => {
    for (const mode of ['recovery', 'in-os'] as const) {
      it(`untouched, ${mode}: may go again, and nothing on it is changed by looking`, async () => {
        const target = await preparedStick(kind, mode, mine);
        const before = await contentAt(target);
        const report = await comeBack({ target });
        expect(report.state).toBe('unchanged');
        expect(['go-again', 'not-proven']).toContain(report.conclusion); // a folder's file system was accepted
        expect(codesOf(report.findings)).toContain('returned/unchanged');
        expect(report.clearing.state).toBe('not-asked');
        expect(await contentAt(target)).toEqual(before);
      });

      it(`from a panel, ${mode}: says what each left, keeps the logs, is cleared, and is prepared anew without leftovers`, async () => {
        const target = await preparedStick(kind, mode, mine);
        const { 'images/.DS_Store': _ds, 'images/._system.img': _twin, ...inRoot } = leftBehind;
        const left = { ...(mode === 'recovery' ? leftBehind : inRoot), 'LOST.DIR/.nomedia': Buffer.alloc(0) };
        await putInto(target, left);
        const report = await comeBack({ target, clear: true, keepLeft: join(own, 'kept') });
        expect(codesOf(report.findings)).toEqual(
          expect.arrayContaining([
            'returned/visited',
            'returned/logs-left',
            'returned/files-of-a-panel',
            'returned/was-at-a-desk',
          ]),
        );
        expect(report.findings.some(({ code }) => code === 'returned/twins')).toBe(mode === 'recovery');
        expect(report.state).toBe(mode === 'recovery' ? 'changed' : 'visited');
        expect(report.clearing.state).toBe('cleared');
        expect(Object.keys(await contentAt(target)).sort()).toEqual(['letters/', 'letters/to whom.txt']);
        const kept = report.kept?.folder ?? '';
        expect(readFileSync(join(kept, 'last_log'))).toEqual(leftBehind.last_log);
        expect(readFileSync(join(kept, 'Android/data/com.example.board/files/board.svg'), 'utf8')).toBe('<svg/>');
        expect(report.kept?.files.map(({ path }) => path).sort()).toEqual([
          'Android/data/com.example.board/files/board.svg',
          'last_log',
          'update.log',
        ]);
        expect(await verdictAt(target)).toBe('not-ready');
        const again = await prepare({ archivePath, targets: [target], mode, accepted });
        expect(again.report.sticks[0]?.state).toBe('written');
        expect(again.report.sticks[0]?.plan?.items.map(({ action }) => action)).not.toContain('remove');
        expect(codesOf(again.report.sticks[0]?.findings ?? [])).not.toContain('stick/unfinished');
        expect(await verdictAt(target)).not.toBe('not-ready');
      });
    }

    it('is not cleared of logs and files of a panel that nobody keeps', async () => {
      const target = await preparedStick(kind, 'recovery');
      await putInto(target, leftBehind);
      const report = await comeBack({ target, clear: true });
      expect(report.clearing.state).toBe('cleared');
      expect(report.kept).toBeUndefined();
      const content = await contentAt(target);
      for (const path of ['last_log', 'update.log', 'Android/data/com.example.board/files/board.svg'])
        expect(content[path]).toBe(sha256(leftBehind[path] ?? Buffer.alloc(0)));
      expect(report.clearing.plan?.stays.map(({ path }) => path).sort()).toEqual(
        Object.keys(content)
          .filter((path) => !path.endsWith('/'))
          .sort(),
      );
    });

    it('keeps what nobody can explain, and what was thrown away, and says so', async () => {
      const target = await preparedStick(kind, 'recovery', mine);
      const strange = {
        'holiday.jpg': Buffer.from('jpg'),
        'images/more/notes.txt': Buffer.from('notes'),
        '.Trashes/501/letter.txt': Buffer.from('thrown away'),
        'FOUND.000/FILE0000.CHK': Buffer.from('found'),
        'stickwright/diary.txt': Buffer.from('diary'),
        'DCIM/1.jpg': Buffer.from('a photo'),
      };
      await putInto(target, strange);
      const report = await comeBack({ target, clear: true, keepLeft: join(own, 'kept') });
      expect(report.conclusion).toBe('prepare-anew');
      expect(report.state).toBe('changed');
      expect(codesOf(report.findings)).toEqual(
        expect.arrayContaining(['returned/unexplained', 'returned/thrown-away']),
      );
      const content = await contentAt(target);
      expect(
        Object.keys(content)
          .filter((path) => !path.endsWith('/'))
          .sort(),
      ).toEqual([...Object.keys(strange), ...Object.keys(mine)].sort());
      expect(existsSync(join(own, 'kept'))).toBe(false);
    });

    it('says which firmware was changed, removed or is of another size, keeps a copy, and clears it all the same', async () => {
      const target = await preparedStick(kind, 'recovery', mine);
      const system = Buffer.from(firmwareTree['images/system.img'] ?? []);
      system[1000] = (system[1000] ?? 0) ^ 1;
      await putInto(target, { 'images/system.img': system, 'release-note.txt': Buffer.from('longer than it was\n') });
      const volume = await openStick(target, 'write');
      await volume.removeFile('images/touch.img');
      await volume.close();
      const report = await comeBack({ target, clear: true, keepLeft: join(own, 'kept') });
      const said = report.findings.filter(({ code }) => /^verify\/(changed|missing)$/.test(code));
      expect(said.map(({ code, subject }) => `${code} ${subject}`).sort()).toEqual([
        'verify/changed images/system.img',
        'verify/changed release-note.txt',
        'verify/missing images/touch.img',
      ]);
      expect(codesOf(report.findings)).not.toContain('returned/unchanged');
      expect([report.conclusion, report.state, report.clearing.state]).toEqual(['prepare-anew', 'changed', 'cleared']);
      expect(readFileSync(join(report.kept?.folder ?? '', 'images/system.img')).equals(system)).toBe(true);
      expect(Object.keys(await contentAt(target)).sort()).toEqual(['letters/', 'letters/to whom.txt']);
    });

    it('is left as it is when the person says no, and where there is no manifest', async () => {
      const target = await preparedStick(kind, 'recovery', mine);
      await putInto(target, leftBehind);
      const before = await contentAt(target);
      const wish = { target, clear: true, agreed: false, keepLeft: join(own, 'kept') };
      const declined = await comeBack(wish, returnedPorts, { agree: async () => false });
      // A folder is no removable drive: without --yes it is refused before anybody is asked.
      expect(declined.clearing.state).toBe(kind === 'folder' ? 'refused' : 'declined');
      expect(await contentAt(target)).toEqual(before);
      expect(existsSync(join(own, 'kept'))).toBe(false);

      const volume = await openStick(target, 'write');
      await volume.removeFile('stickwright/manifest.json');
      await volume.close();
      const unknown = await comeBack({ target, clear: true, keepLeft: join(own, 'kept') });
      expect(unknown.clearing.state).toBe('refused');
      expect(codesOf(unknown.clearing.findings)).toEqual(['returned/nothing-to-clear']);
      expect(codesOf(unknown.findings)).toContain('verify/not-prepared');
      const { 'stickwright/manifest.json': _gone, ...rest } = before;
      expect(await contentAt(target)).toEqual(rest);
    });

    it('with a manifest that is not whole is not cleared', async () => {
      const target = await preparedStick(kind, 'recovery');
      await putInto(target, { 'stickwright/manifest.json': Buffer.from('{"schema":"stickwright/manifest/1"}') });
      const report = await comeBack({ target, clear: true });
      expect(codesOf(report.findings)).toContain('verify/manifest-broken');
      expect(report.clearing.state).toBe('refused');
    });

    it('stopped by Ctrl-C says not ready, and the same command does the rest', async () => {
      const target = await preparedStick(kind, 'recovery', mine);
      const controller = new AbortController();
      let done = 0;
      const stopped = await comeBack({ target, clear: true }, returnedPorts, {
        signal: controller.signal,
        tell: (event) => {
          if (event.kind === 'item' && ++done === 3) controller.abort(new Error('interrupted by a test'));
        },
      });
      expect(stopped.clearing.state).toBe('unfinished');
      expect(await verdictAt(target)).toBe('not-ready');
      const looked = await comeBack({ target });
      expect([looked.conclusion, codesOf(looked.findings)]).toEqual([
        'finish-clearing',
        ['returned/clearing-unfinished'],
      ]);
      const finished = await comeBack({ target, clear: true });
      expect(finished.clearing.state).toBe('cleared');
      expect(finished.manifest?.stick).toBe('ACD-479');
      expect(Object.keys(await contentAt(target)).sort()).toEqual(['letters/', 'letters/to whom.txt']);
    });

    it('on which a preparation was not finished is left to prepare', async () => {
      const target = await preparedStick(kind, 'recovery');
      await putInto(target, { 'SW-PART.TMP/x.img': Buffer.from('half') });
      const report = await comeBack({ target, clear: true });
      expect(report.clearing.state).toBe('refused');
      expect(codesOf(report.clearing.findings)).toContain('returned/preparation-unfinished');
    });
  });
}

describe('clearing', { tags: ['nobodys-files-vanish'] }, () => {
  it('takes what was there before only where it is a mark with nothing in it', async () => {
    const before = { 'LOST.DIR/77': Buffer.from('a piece'), 'old.log': Buffer.from('a log of mine') };
    const target = await preparedStick('image', 'in-os', before);
    const report = await comeBack({ target, clear: true });
    expect(codesOf(report.findings)).not.toContain('returned/visited');
    expect(report.state).toBe('unchanged');
    expect(Object.keys(await contentAt(target)).sort()).toEqual(['LOST.DIR/', 'LOST.DIR/77', 'old.log']);
  });

  it("says that somebody's files went or changed while the stick was out", async () => {
    const target = await preparedStick('image', 'in-os', { 'a.txt': Buffer.from('a'), 'b.txt': Buffer.from('b') });
    await putInto(target, { 'b.txt': Buffer.from('longer') });
    const volume = await openStick(target, 'write');
    await volume.removeFile('a.txt');
    await volume.close();
    const { findings } = await comeBack({ target });
    expect(findings.find(({ code }) => code === 'returned/others-gone')?.facts).toEqual({ paths: ['a.txt'] });
    expect(findings.find(({ code }) => code === 'returned/others-changed')?.facts).toEqual({ paths: ['b.txt'] });
  });

  it('is locked against other runs from the first look on', async () => {
    const target = await preparedStick('folder', 'recovery');
    const holding = await openStick(target, 'write');
    await expect(comeBack({ target, clear: true })).rejects.toMatchObject({ code: 'stick/in-use' });
    await holding.close();
  });

  it('does not begin on a stick that was changed while the person looked at the plan', async () => {
    const target = await preparedStick('folder', 'recovery', mine);
    const before = await contentAt(target);
    const changing = comeBack({ target, clear: true }, returnedPorts, {
      propose: async () => writeFileSync(join(target, 'new.txt'), 'new'),
    });
    await expect(changing).rejects.toMatchObject({ code: 'stick/swapped' });
    const { 'new.txt': _new, ...after } = await contentAt(target);
    expect(after).toEqual(before);
  });

  it('does not begin where the copies cannot be made', async () => {
    const target = await preparedStick('image', 'recovery');
    await putInto(target, leftBehind);
    const before = await contentAt(target);
    writeFileSync(join(own, 'a file'), 'in the way');
    const wish = { target, clear: true, keepLeft: join(own, 'a file') };
    await expect(comeBack(wish)).rejects.toBeInstanceOf(ToolError);
    expect(await contentAt(target)).toEqual(before);
  });

  it('is refused where the panel wants the root to itself and something is there, until it is cleared', async () => {
    const [sedge] = await sedgeFamily();
    if (sedge === undefined) throw new Error('no family');
    const recovery = sedge.modes.recovery;
    if (recovery === undefined) throw new Error('no recovery');
    const strict = { ...sedge, modes: { ...sedge.modes, recovery: { ...recovery, 'only-these-at-root': true } } };
    const target = await newStick();
    const job = { archivePath, targets: [target], families: [strict] };
    expect((await prepare(job)).report.sticks[0]?.state).toBe('written');
    await putInto(target, { 'LOST.DIR/.nomedia': Buffer.alloc(0) });
    const report = await comeBack({ target, clear: true });
    expect(codesOf(report.findings)).toContain('verify/root-not-empty');
    expect([report.conclusion, report.clearing.state]).toEqual(['prepare-anew', 'cleared']);
    expect((await prepare(job)).report.sticks[0]?.state).toBe('written');
  });
});

describe('a stick whose medium fails', () => {
  it('is to be retired, and is not written to', async () => {
    const device = await makeMemoryFat(64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
    await fill(device, { 'mine.txt': Buffer.from('mine') });
    expect((await runOn(device, { archivePath, mode: 'in-os', leftovers: 'stop' })).report.sticks[0]?.state).toBe(
      'written',
    );
    const whole = readFileSync(archivePath);
    const bad = findSector(device, whole.subarray(51_200, 51_712));
    device.writes = 0;
    // The very medium, and not a copy that would read well.
    const ports = {
      ...returnedPortsFor(device),
      openVolume: (_target: string, access: 'read' | 'write') => openMemory(device, access),
    };
    device.beforeRead = (first, into) => {
      if (first <= bad && bad < first + into.length / 512)
        throw new ToolError('stick/read-failed', 'memory', 'reading failed (EIO)', 'Retire it.');
    };
    const report = await comeBack({ target: memoryTarget, clear: true }, ports);
    expect([report.conclusion, report.state, report.clearing.state]).toEqual(['retire', 'unreadable', 'refused']);
    expect(codesOf(report.findings)).toContain('verify/unreadable');
    expect(codesOf(report.clearing.findings)).toContain('returned/too-worn-to-clear');
    expect(device.writes).toBe(0);
    // Where not even the record can be read, nothing else is told.
    device.beforeRead = () => {};
    const volume = await openMemory(device, 'read');
    const chunks: Uint8Array[] = [];
    for await (const chunk of (await volume.open(manifestPath, 'cached')).chunks()) chunks.push(chunk.slice());
    await volume.close();
    const record = findSector(device, Buffer.concat(chunks).subarray(0, 512));
    device.beforeRead = (first, into) => {
      if (first <= record && record < first + into.length / 512)
        throw new ToolError('stick/read-failed', 'memory', 'reading failed (EIO)', 'Retire it.');
    };
    const blind = await comeBack({ target: memoryTarget, clear: true }, ports);
    expect(codesOf(blind.findings)).toEqual(['returned/not-readable']);
    expect([blind.conclusion, blind.clearing.state]).toEqual(['retire', 'refused']);
  });
});

describe('what a computer does not give away', () => {
  it('is said to stay, and the rest is cleared', async () => {
    const target = await preparedStick('folder', 'in-os', {
      'System Volume Information/WPSettings.dat': Buffer.from('0123456789ab'),
    });
    // Windows and macOS hold on to their own files; no Linux does, so the refusal alone is made up.
    const openVolume: typeof returnedPorts.openVolume = async (...wish) => {
      const volume = await returnedPorts.openVolume(...wish);
      const removeFile = async (path: string): Promise<void> => {
        if (path.endsWith('WPSettings.dat')) throw new ToolError('stick/in-use', path, 'it is in use', 'Wait.');
        await volume.removeFile(path);
      };
      return new Proxy(volume, {
        get: (_, name) => {
          if (name === 'removeFile') return removeFile;
          const member = Reflect.get(volume, name, volume);
          return typeof member === 'function' ? member.bind(volume) : member;
        },
      });
    };
    const report = await comeBack({ target, clear: true }, { ...returnedPorts, openVolume });
    expect(report.clearing.state).toBe('cleared');
    expect(report.clearing.findings).toContainEqual(
      expect.objectContaining({
        code: 'returned/not-removed',
        facts: { paths: expect.arrayContaining(['System Volume Information/WPSettings.dat']) },
      }),
    );
  });
});

function findSector(
  device: { sizeBytes: number; bytes(at: number, length: number): Uint8Array },
  sector: Uint8Array,
): number {
  for (let first = 0; first < device.sizeBytes / 512; first++)
    if (Buffer.compare(device.bytes(first * 512, 512), sector) === 0) return first;
  throw new Error('the sector is not on the medium');
}

it('keeps nothing behind in the folder for temporary files', () => {
  expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
});
