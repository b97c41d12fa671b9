import { spawnSync } from 'node:child_process';
import { readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { makeSamplePackages } from '../../samples/make-sample-shelf.mjs';
import {
  enter,
  planFirstStick,
  sampleLabel,
  startBrowser,
  turnTo,
  writeAsShown,
} from '../fixtures/window/open-desk.ts';
import { onZ, type WineDesk } from '../fixtures/wine/desk.ts';
import { says, WineSticks } from '../fixtures/wine/sticks.ts';
import type { needs } from './needs.ts';

/**
 * The window as a Windows process serves it, in a browser of this machine; a part of `windows.test.ts`, which has the
 * desk.
 */
export function describeWindow(desk: WineDesk, itOnWine: ReturnType<typeof needs>, canRun: boolean): void {
  describe('the window on Windows', () => {
    const sticks = new WineSticks(desk);
    let browser: Browser;
    beforeAll(async () => {
      if (canRun) browser = await startBrowser();
    });
    afterAll(async () => {
      await browser?.close();
      sticks.unplugAll();
    });

    itOnWine(
      'goes from the label to a stick behind a letter that the command line calls ready',
      { tags: ['plan-before-touch'] },
      async () => {
        const folder = join(desk.folder, 'mounted of the window');
        await sticks.plugIn('w', 'of the window');
        desk.rawDrive(28, join(desk.folder, 'of the window.img'));
        desk.answerPowerShell({ stdout: says({ number: 28, letters: ['W'] }) });
        const empty = readdirSync(folder); // this driver shows the volume's label
        const packages = await makeSamplePackages(join(desk.folder, 'maker'), { bytes: 40_000 });
        const env = {
          STICKWRIGHT_SHELF: `${onZ(desk.folder)}\\Window shelf`,
          STICKWRIGHT_FAMILIES: onZ(join(desk.tool, 'families')),
        };
        const stickwright = (...words: readonly string[]) => desk.wine(['cmd', '/c', 'stickwright.cmd', ...words], env);
        expect(stickwright('shelf', 'add', ...packages.map(onZ), '--from', 'https://support.example/').exitCode).toBe(
          0,
        );

        const served = desk.serve(['cmd', '/c', 'open-desk.cmd', '--no-open'], env);
        const printed = () => /http:\/\/127\.0\.0\.1:\d+\/#\S+/.exec(served.read().stderr)?.[0];
        while (printed() === undefined) await wait(100);
        const page = await enter(await browser.newContext(), { address: printed() ?? '' });
        const agreement = await planFirstStick(page, /W:/);
        // Nothing is touched before somebody agreed; and another Windows process sees that the window holds the stick.
        expect(readdirSync(folder)).toEqual(empty);
        expect(stickwright('verify', 'W:').stderr).toContain('stick/in-use');
        const code = await writeAsShown(page, agreement);
        const verified = stickwright('verify', 'W:', '--label', sampleLabel, '--mode', 'in-os');
        expect([verified.exitCode, verified.stdout]).toEqual([0, expect.stringContaining(code)]);
        const checked = spawnSync('sha256sum', ['-c', 'stickwright/checksums.sha256'], {
          cwd: folder,
          encoding: 'utf8',
        });
        expect([checked.status, checked.stdout]).toEqual([0, 'reed.1717_5B_second_K2.zip: OK\n']);

        // What it shows to be typed is what cmd reads word for word: the archive is the one that lies there already.
        const line = (await page.locator('.in-one code').first().textContent()) ?? '';
        expect(line).toMatch(/^stickwright prepare "Z:.* --stick W:$/);
        const script = join(desk.tool, 'same.cmd');
        const called = line.replace('stickwright', '@call stickwright.cmd');
        writeFileSync(script, `${called} --dry-run\r\n`);
        const again = desk.wine(['cmd', '/c', 'same.cmd'], env);
        rmSync(script);
        expect([again.exitCode, again.stdout], again.stderr).toEqual([0, expect.stringContaining('already right')]);

        // Erasing never ran on a real Windows: that is asked first, and nothing is done for another word.
        const before = readdirSync(folder).toSorted();
        await turnTo(page, 'Sticks');
        await page.locator('summary', { hasText: 'Format' }).first().click();
        const form = page.getByRole('form', { name: 'Format' });
        await form.getByRole('combobox', { name: 'How the panel' }).selectOption('recovery');
        await form.getByRole('button').click();
        await agreement.waitFor();
        expect(await agreement.textContent()).toContain('Erasing a drive on Windows has never run on a real machine');
        await agreement.getByRole('textbox').fill('67 MB');
        await agreement.getByRole('button', { name: 'Go on' }).click();
        await page.getByText('That is not the word untried').waitFor();
        await agreement.getByRole('button', { name: 'No, leave it as it is' }).click();
        await page.getByRole('button', { name: /^Put away/ }).waitFor();
        expect(readdirSync(folder).toSorted()).toEqual(before);
        expect(desk.asked).not.toMatch(/Clear-Disk|Format-Volume/);
        desk.kill();
        await served.ended;
      },
    );
  });
}
