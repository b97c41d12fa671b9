import { spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { standIns } from '../fixtures/stand-ins.ts';
import { attachLoop, canMount, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { makeScratch, run } from '../fixtures/volumes/scratch.ts';
import { keysOf } from '../fixtures/window/hand-over.ts';
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

  check(
    'offers a card that is no USB stick as the folder that it is opened as: with a reason, its size typed, never as a whole',
    { tags: ['only-the-stick'] },
    async () => {
      const cards = makeScratch();
      const point = mountVolume(cards, 'exfat', 65);
      const device = readFileSync('/proc/self/mounts', 'utf8')
        .split('\n')
        .map((line) => line.split(' '))
        .find(([, at]) => at?.replaceAll('\\040', ' ') === point)?.[0];
      const asCard = join(scratch.path, 'card.json');
      const card = { tran: 'mmc', rm: false, hotplug: true, model: 'Slate Card', mountpoints: [point] };
      writeFileSync(asCard, lsblkOf(device ?? '', card));
      writeFileSync(join(point, 'holiday.jpg'), 'nobody may lose this');
      const system = standIns({ lsblk: `cat '${asCard}'` });
      const desk = await openDesk({ ...laid, sticks: [] }, [], { around: system.around });
      try {
        const page = await enter(await browser.newContext(), desk);
        await turnTo(page, 'Sticks');
        const tag = page.getByRole('article', { name: `Stick ${point}` });
        await tag.getByText('No removable USB stick: it is not on the USB bus').waitFor();
        expect(await tag.locator('summary').allTextContents()).toEqual(['Verify', 'It came back']);
        await tag.locator('summary', { hasText: 'It came back' }).click();
        expect(await tag.locator('code.block').textContent()).toContain('--returned --clear --yes');
        expect(await faults(page)).toEqual([]);
        // A page that asks for it all the same is refused, and nothing is erased.
        const keys = await keysOf(page);
        for (const [path, more] of [
          ['format', { mode: 'in-os' }],
          ['prove', { how: 'whole' }],
        ] as const)
          expect(
            (
              await page.request.post(`${desk.origin}/api/sticks/${path}`, {
                headers: { ...keys, origin: desk.origin },
                data: { target: point, ...more },
              })
            ).status(),
          ).toBe(409);
        await turnTo(page, 'Slip');
        await fillIn(page, /Slate Card/);
        await showPlan(page);
        const stop = page.locator('.finding', { hasText: 'stick/not-a-removable-drive' }).first();
        await stop.getByText('go on as it stands below this', { exact: false }).waitFor();
        await stop.getByText('Accept it, with a reason').click();
        await stop.getByRole('textbox').fill('A card in the reader of this computer');
        await showPlan(page);
        const agreement = page.getByRole('form', { name: 'Agreement' });
        await agreement.getByText('is no removable USB stick', { exact: false }).waitFor();
        expect(await faults(page)).toEqual([]);
        // A reason alone writes nothing, and neither does another size.
        await agreement.getByRole('textbox').fill('32 GB');
        await agreement.getByRole('button', { name: 'Go on' }).click();
        await page.getByText('That is not the size of that drive.').waitFor();
        expect(readdirSync(point)).toEqual(['holiday.jpg']);
        await agreement.getByRole('textbox').fill('68 MB');
        await agreement.getByRole('button', { name: 'Go on' }).click();
        await page.getByRole('button', { name: 'Write as shown' }).click();
        await page.locator('.stick-code').waitFor();
        const code = (await page.locator('.stick-code b').first().textContent()) ?? '';
        expect(stickwright(['verify', point, '--label', label]).stdout).toContain(code);
        expect(readFileSync(join(point, 'holiday.jpg'), 'utf8')).toBe('nobody may lose this');
        await page.close();
      } finally {
        await desk.end();
        system.undo();
        cards.undo();
      }
    },
  );

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

const stick = { tran: 'usb', rm: true, hotplug: true, model: 'Slate Drive', serial: 'SL-0042' };

/** What lsblk says of a loop device, told of another drive. */
function lsblkOf(device: string, told: object = stick): string {
  const listed = JSON.parse(run('lsblk', '--json', '--bytes', '--output-all', device)) as {
    blockdevices: Record<string, unknown>[];
  };
  for (const one of listed.blockdevices) Object.assign(one, { type: 'disk' }, told);
  return JSON.stringify(listed);
}
