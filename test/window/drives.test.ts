import { spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { standIns } from '../fixtures/stand-ins.ts';
import { attachLoop, canMount, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { makeScratch, run } from '../fixtures/volumes/scratch.ts';
import {
  choosePackage,
  enter,
  faults,
  layDesk,
  type OpenDesk,
  openDesk,
  sayItRuns,
  showPlan,
  startBrowser,
  tickSticks,
  turnTo,
  writeLabel,
} from '../fixtures/window/open-desk.ts';
import { itWithout, needs } from '../outside/needs.ts';

// A removable drive on the USB bus is what no test has: a loop device is one where `lsblk` says so. Everything else of
// the system is real, but for what lets go of a drive.
const check = canMount
  ? needs({ ...programsFor.exfat, chromium: 'chromium', mdir: 'mtools', setpriv: 'util-linux', unshare: 'util-linux' })
  : itWithout('the right to be another user (run as root)');
const nobody = 65_534;
const label = 'K2-second 75/5B';
const fits = /reed\.1717_5B_second_K2\.zip/;

describe('drives in the window', { timeout: 300_000 }, () => {
  const scratch = makeScratch();
  let browser: Browser;
  let laid: Awaited<ReturnType<typeof layDesk>>;
  beforeAll(async () => {
    if (!canMount) return;
    laid = await layDesk(scratch, { sticks: 1 });
    browser = await startBrowser();
  }, 300_000);
  afterAll(async () => {
    await browser?.close();
    scratch.undo();
  });

  async function fillIn(page: Page, stick: RegExp): Promise<void> {
    await page.getByRole('button', { name: 'Take a new slip' }).click();
    await writeLabel(page, label);
    await sayItRuns(page);
    await choosePackage(page, fits);
    await tickSticks(page, stick);
  }

  check(
    'says before anything starts what this account may not do, with the one command that changes only that, and goes on by itself',
    { tags: ['only-the-stick'] },
    async () => {
      const [image = ''] = laid.sticks;
      const device = attachLoop(scratch, image);
      const asDrive = join(scratch.path, 'lsblk.json');
      writeFileSync(asDrive, lsblkOf(device));
      const busy = join(scratch.path, 'busy');
      writeFileSync(busy, '');
      const system = standIns({
        lsblk: `cat '${asDrive}'`,
        sync: `[ -e '${busy}' ] && { echo 'target is busy' >&2; exit 1; }; exit 0`,
        eject: 'exit 0',
        udisksctl: 'exit 1',
      });
      let desk: OpenDesk | undefined;
      const own = lendTo(nobody);
      try {
        desk = await openDesk({ ...laid, sticks: [] }, [], {
          around: (command) => system.around(asPerson(scratch.path, command)),
        });
        const page = await enter(await browser.newContext(), desk);
        await fillIn(page, /Slate Drive/);
        await page.getByText(`Still to be filled in: the right to write to ${device}.`).waitFor();
        const said = page.locator('.rights').first();
        expect(await said.textContent()).toContain(`This account may not write to ${device} itself`);
        expect(await faults(page)).toEqual([]);
        const before = readFileSync(image);
        const command = (await said.locator('code').first().textContent()) ?? '';
        expect(command).toBe(`sudo chown $USER ${device}`);

        // Who may, runs exactly that; nobody touches the window.
        run('sh', '-c', `USER=${nobody}; ${command.replace('sudo ', '')}`);
        await page.getByRole('button', { name: 'Show exactly what would be written' }).waitFor();
        expect(readFileSync(image).equals(before)).toBe(true);
        await showPlan(page);
        await page.getByRole('button', { name: 'Write as shown' }).click();
        await page.locator('.stick-code').waitFor();
        expect(run('mdir', '-b', '-i', `${image}@@1M`, '::')).toContain('reed.1717_5B_second_K2.zip');

        // Its light still blinks; then it may be pulled.
        const letGo = page.getByRole('button', { name: 'Let go of it' });
        await letGo.click();
        await page.getByText(/Do not pull it yet: .*target is busy/).waitFor();
        spawnSync('rm', [busy]);
        await letGo.click();
        await page.getByText('You can pull it now.').waitFor();
        await page.close();
      } finally {
        await desk?.end();
        system.undo();
        own();
      }
    },
  );

  check('does a whole job on the mounted volume of a loop device', { tags: ['ready-is-on-the-medium'] }, async () => {
    const point = mountVolume(scratch, 'exfat', 64);
    const desk = await openDesk({ ...laid, sticks: [point] });
    try {
      const page = await enter(await browser.newContext(), desk);
      await fillIn(page, /mounted exfat/);
      await showPlan(page);
      // It is no USB drive, which needs a reason.
      const stop = page.locator('.finding', { hasText: 'stick/not-a-removable-drive' }).first();
      await stop.getByText('Accept it, with a reason').click();
      await stop.getByRole('textbox').fill('A loop device of this computer');
      await page.getByRole('button', { name: /what would be written$/ }).click();
      await page.getByRole('button', { name: 'Write as shown' }).click();
      await page.locator('.stick-code').waitFor();
      const code = (await page.locator('.stick-code b').first().textContent()) ?? '';
      expect(stickwright(['verify', point, '--label', label]).stdout).toContain(code);
      expect(spawnSync('sha256sum', ['-c', '--quiet', 'stickwright/checksums.sha256'], { cwd: point }).status).toBe(0);
      await turnTo(page, 'Sticks');
      await page.getByRole('article', { name: `Stick ${point}` }).waitFor();
      await page.close();
    } finally {
      await desk.end();
    }
  });

  /** What the desk works with is theirs for as long as that takes. */
  function lendTo(person: number): () => void {
    chmodSync(scratch.path, 0o755);
    const give = (whom: number): void => void run('chown', '-R', String(whom), laid.home, laid.shelf);
    give(person);
    return () => give(0);
  }
});

/** Runs COMMAND as an account that is signed in and no more; the project may lie where that account may not look. */
function asPerson(folder: string, [, ...words]: readonly string[]): readonly string[] {
  const [project = '', node = ''] = ['project', 'node'].map((name) => join(folder, name));
  for (const place of [project, node]) mkdirSync(place, { recursive: true });
  const bind = 'mount --bind "$PWD" "$0" && mount --bind "$1" "$2" && cd "$0" && n=$2 && shift 2';
  const person = `setpriv --reuid=${nobody} --regid=${nobody} --clear-groups --inh-caps=-all --bounding-set=-all`;
  const run = `${bind} && exec ${person} "$n/node" "$@"`;
  return ['/bin/sh', '-c', run, project, dirname(process.execPath), node, ...words.filter((one) => one !== '--raised')];
}

/** What lsblk says of a loop device, told of a stick. */
function lsblkOf(device: string): string {
  const listed = JSON.parse(run('lsblk', '--json', '--bytes', '--output-all', device)) as {
    blockdevices: Record<string, unknown>[];
  };
  const told = { tran: 'usb', rm: true, type: 'disk', hotplug: true, model: 'Slate Drive', serial: 'SL-0042' };
  for (const one of listed.blockdevices) Object.assign(one, told);
  return JSON.stringify(listed);
}
