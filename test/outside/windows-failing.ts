import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { userInfo } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, describe, expect } from 'vitest';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';
import { run } from '../fixtures/volumes/scratch.ts';
import { onZ, type WineDesk } from '../fixtures/wine/desk.ts';
import { WineSticks } from '../fixtures/wine/sticks.ts';
import type { needs } from './needs.ts';

/** Sticks that a Windows process loses or cannot have; a part of `windows.test.ts`, which has the desk. */
export function describeFailing(
  desk: WineDesk,
  itOnWine: ReturnType<typeof needs>,
  jobFor: (target: string) => readonly string[],
): void {
  const { stickwright } = desk;
  const sticks = new WineSticks(desk);
  afterAll(() => sticks.unplugAll());

  /** Holds what is fresh below FOLDER, for HOLD MS each. Resolves to what ends it, and then tells how many it held. */
  async function scan(folder: string, holdMs: number): Promise<() => Promise<number>> {
    const log = join(desk.folder, `scanner-${folder.replace(/\W/g, '')}-${holdMs}.txt`);
    const scanning = desk.begin([desk.node, onZ('test/fixtures/wine/scanner.cjs'), folder, String(holdMs), onZ(log)]);
    while (!existsSync(`${log}.begun`)) await wait(20);
    return async () => {
      writeFileSync(`${log}.stop`, '');
      await scanning;
      return Number(readFileSync(log, 'utf8'));
    };
  }
  const begin = (...words: readonly string[]) => desk.begin(['cmd', '/c', 'stickwright.cmd', ...words]);
  const isWritten = async (folder: string): Promise<void> => {
    while (!readdirSync(folder).includes('SW-PART.TMP')) await wait(20);
    await wait(1500); // it was read back by then, and waits for its name
  };

  describe('a stick on Windows that fails', () => {
    itOnWine('because it was pulled fails alone', async () => {
      const pull = await sticks.plugIn('k', 'pulled');
      await sticks.plugIn('l', 'stays');
      desk.answerPowerShell({ stdout: '' });
      const firmware = await makeArchive(desk.folder);
      pull();
      const { exitCode, stdout } = stickwright('prepare', onZ(firmware), ...jobFor('K:'), '--stick', 'L:');
      // As far as Wine had come to notice that nothing is behind the letter any more.
      expect([exitCode, stdout]).toEqual([3, expect.stringMatching(/\[stick\/(not-found|gone|read-failed)\] K:/)]);
      expect(stdout).toContain('Written, read back and recorded.');
      const verified = stickwright('verify', 'L:', '--label', panelLabel);
      expect(verified.stdout, verified.stderr).toContain('1 of 1 file');
    });

    itOnWine('with an answer that libuv has no word for fails alone, and is named', async () => {
      await sticks.plugIn('o', 'sound');
      const firmware = await makeArchive(desk.folder);
      const shim = ['--require', onZ('test/fixtures/wine/unknown-errors.cjs')];
      const ours = [desk.node, ...shim, onZ(join(desk.tool, 'app/bin/stickwright.js'))];
      const words = ['prepare', onZ(firmware), ...jobFor('M:'), '--stick', 'O:'];
      const { exitCode, stdout } = desk.wine([...ours, ...words], { UNKNOWN_LETTER: 'm:' });
      expect([exitCode, stdout]).toEqual([3, expect.stringContaining('[stick/not-ready]')]);
      expect(stdout).toContain('Windows shows the letter, but no medium answers behind it');
      expect(stickwright('verify', 'O:', '--label', panelLabel).exitCode).toBe(4);
    });

    itOnWine('in one call alone, with such an answer, is told as damaged', async () => {
      desk.letter('r', join(desk.folder, 'renames'));
      const firmware = await makeArchive(desk.folder);
      const shim = ['--require', onZ('test/fixtures/wine/unknown-errors.cjs')];
      const ours = [desk.node, ...shim, onZ(join(desk.tool, 'app/bin/stickwright.js'))];
      const env = { UNKNOWN_LETTER: 'r:', UNKNOWN_CALLS: 'rename' };
      const { exitCode, stdout } = desk.wine([...ours, 'prepare', onZ(firmware), ...jobFor('R:')], env);
      expect([exitCode, stdout]).toEqual([3, expect.stringContaining('[stick/damaged]')]);
      // An archive, too, may lie on such a stick.
      const read = desk.wine([...ours, 'inspect', 'R:\\x.zip'], { UNKNOWN_LETTER: 'r:' });
      expect([read.exitCode, read.stderr]).toEqual([3, expect.stringMatching(/\[(stick|file)\//)]);
    });

    itOnWine('because a scanner holds what is fresh is waited for', async () => {
      const stick = desk.letter('n', join(desk.folder, 'scanned'));
      const firmware = await makeArchive(desk.folder);
      const stop = await scan('N:\\', 700);
      const prepared = stickwright('prepare', onZ(firmware), ...jobFor('N:'));
      // The firmware at least, which is moved to its final name right after it was read back.
      expect(await stop()).toBeGreaterThan(0);
      expect([prepared.exitCode, prepared.stdout]).toEqual([4, expect.stringContaining('Written, read back')]);
      expect(readdirSync(stick).toSorted()).toEqual([packageName, 'stickwright']);
      expect(stickwright('verify', 'N:', '--label', panelLabel).stdout).toContain('1 of 1 file');
    });

    itOnWine("is no more than one of the desk's own files, which a scanner holds as well", async () => {
      const hold = join(desk.folder, 'hold.exe');
      run('x86_64-w64-mingw32-gcc', '-Os', '-municode', '-o', hold, 'test/fixtures/wine/hold.c');
      const settings = (...words: readonly string[]) => stickwright('settings', ...words);
      expect(settings('set', 'paper', 'a6').exitCode).toBe(0);
      const own = join(desk.systemDrive, 'users', userInfo().username);
      const file = join(own, 'AppData/Roaming/stickwright/Config/settings.json');
      const holding = desk.serve([onZ(hold), onZ(file), '4000']);
      await expect.poll(() => holding.read().stdout).toContain('held');
      const unset = settings('unset', 'paper');
      expect([unset.exitCode, existsSync(file)], unset.stderr).toEqual([0, false]);
      expect((await holding.ended).exitCode).toBe(0);
    });

    itOnWine(
      'because a program does not let go says what holds up, keeps others off, and goes on after a kill',
      async () => {
        const folder = desk.letter('p', join(desk.folder, 'held'));
        const firmware = await makeArchive(desk.folder);
        await scan('P:\\', 600_000);
        const job = ['prepare', onZ(firmware), ...jobFor('P:'), '--leftovers', 'remove'];
        const first = begin(...job);
        await isWritten(folder);
        const second = stickwright('verify', 'p:\\');
        expect([second.exitCode, second.stderr]).toEqual([
          3,
          expect.stringMatching(/\[stick\/in-use\].*process\s+\d+/is),
        ]);
        const held = await first;
        expect([held.exitCode, held.stdout]).toEqual([3, expect.stringContaining('[stick/in-use]')]);
        expect(held.stdout.replace(/\s+/g, ' ')).toContain('did not let go within 10 s');
        // Killed as it stands, it leaves no lock behind, whoever has its number later.
        const killed = begin(...job);
        await wait(3000);
        desk.kill();
        await killed;
        expect(stickwright(...job).stdout).toContain('Written, read back');
      },
    );

    itOnWine(
      'because another one has its letter by then touches nothing of that one',
      { tags: ['only-the-stick'] },
      async () => {
        const folder = desk.letter('q', join(desk.folder, 'first'));
        const firmware = await makeArchive(desk.folder);
        const stop = await scan('Q:\\', 4000);
        const job = begin('prepare', onZ(firmware), ...jobFor('Q:'));
        await isWritten(folder);
        const other = desk.letter('q', join(desk.folder, 'second'));
        const { exitCode, stdout } = await job;
        await stop();
        expect([exitCode, stdout]).toEqual([3, expect.stringContaining('[stick/swapped]')]);
        expect(readdirSync(other)).toEqual([]);
        expect(readdirSync(folder)).not.toContain('stickwright');
      },
    );
  });
}
