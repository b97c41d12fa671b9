import { afterAll, beforeAll, describe, expect } from 'vitest';
import { Desk, expectPrepared, onBus, own, readiness } from '../fixtures/bus/desk.ts';
import { missingForGuest } from '../fixtures/bus/make-boot.ts';
import { seeStick } from '../fixtures/kernel/kernel-sticks.ts';

// More of the day on the bus, for `npm run sticks`. Other tests of `npm test` show each of these in some other way;
// here the drivers, udev and the drives are Linux's own.
let desk: Desk;
beforeAll(async () => {
  if (missingForGuest() === '') desk = await Desk.open();
}, 300_000);
afterAll(() => desk?.close());

const timeout = 600_000;

describe('format', () => {
  onBus('makes a used, an empty, a GPT and an exFAT stick one that the kernel mounts', { timeout }, async () => {
    for (const kind of ['fat', 'gpt', 'exfat', 'empty'] as const) {
      const stick = await desk.stick(kind, { files: own });
      const before = stick.medium.writes;
      await desk.says(2, `stickwright format ${stick.device} --for recovery --drive-size 4GB`);
      expect(stick.medium.writes).toBe(before);
      await desk.says(readiness.ready, desk.format(stick.device));
      // Out and in, as it is told.
      await stick.pull();
      await stick.back();
      const mounted = await desk.says(
        0,
        `${stick.mount()} && ls -A ${stick.folder} && lsblk -no PTTYPE ${stick.device}`,
      );
      expect(mounted).toMatch(/^(dos )+$/);
      await desk.guest.run(`umount ${stick.folder}`);
      expect(seeStick(stick.image, desk.scratch.path)).toEqual({ files: {}, fsck: [] });
    }
  });

  onBus(
    'refuses one with sectors of 4096 bytes, and one that is too small, and changes neither',
    { timeout },
    async () => {
      const large = await desk.stick('empty', { sectorBytes: 4096 });
      expect(await desk.says(readiness.noAnswer, desk.format(large.device))).toMatch(/sectors of 4096 bytes/i);
      const tiny = await desk.stick('empty', { mebibytes: 1 });
      expect(await desk.says(readiness.noAnswer, desk.format(tiny.device))).toMatch(/there is no such volume/i);
      expect([large.medium.writes, tiny.medium.writes]).toEqual([0, 0]);
    },
  );
});

describe('prepare', () => {
  onBus('of all: what would not do is left alone, and every one can be pulled', { timeout }, async () => {
    const [fat, gpt, fresh] = [await desk.stick('fat'), await desk.stick('gpt'), await desk.stick('fat')];
    await desk.guest.run(fat.mount());
    const before = gpt.medium.writes;
    const said = await desk.says(readiness.notReady, `${desk.prepare('recovery', 'all')} --eject`);
    expect(said.match(/Written, read back and recorded/g)).toHaveLength(2);
    expect(said).toContain('[stick/partition-table-not-taken]');
    for (const target of [fat.folder, gpt.device, fresh.device]) expect(said).toContain(`You can pull ${target} now.`);
    expect(gpt.medium.writes).toBe(before);
    for (const { image } of [fat, fresh]) expectPrepared(desk, image);
  });
});

describe('a stick in use', () => {
  onBus('is neither erased nor said to be free', { tags: ['only-the-stick'], timeout }, async () => {
    const stick = await desk.stick('fat', { files: own });
    await desk.guest.run(
      `${stick.mount()}; (cd ${stick.folder}; exec sleep 900) >/dev/null 2>&1 & echo $! >/run/holder`,
    );
    expect(await desk.says(readiness.noAnswer, desk.format(stick.device))).toMatch(/\[stick\/in-use\].*target is busy/);
    const said = await desk.says(readiness.unproven, `${desk.prepare('recovery', stick.folder)} --eject`);
    expect(said).toContain(`Do not pull ${stick.folder} yet.`);
    await desk.says(0, `kill $(cat /run/holder); cat ${stick.folder}/holiday.jpg >/dev/null`);
  });

  const byItself = 'that a desktop mounts by itself is formatted and prepared in peace, and mounted afterwards';
  onBus(byItself, { tags: ['only-the-stick'], timeout }, async () => {
    const stick = await desk.stick('fat', { files: own });
    // As a desktop does: whatever comes, or was written to, is mounted where it is not.
    const rule = `ACTION!="remove", KERNEL=="sd?1", ENV{ID_FS_USAGE}=="filesystem", RUN+="/bin/mount /dev/%k ${stick.folder}"`;
    const write = `mkdir -p /run/udev/rules.d ${stick.folder}; echo '${rule}' >/run/udev/rules.d/99-desktop.rules`;
    const settle = `udevadm settle; mountpoint ${stick.folder}`;
    await desk.says(0, `${write}; udevadm control --reload; udevadm trigger ${stick.device}1; ${settle}`);
    await desk.says(readiness.ready, desk.format(stick.device));
    await desk.says(0, settle);
    await desk.says(readiness.noAnswer, desk.prepare('recovery', stick.device));
    await desk.says(0, `umount ${stick.folder}`);
    await desk.says(readiness.unproven, desk.prepare('recovery', stick.device));
    await desk.says(0, `${settle}; rm /run/udev/rules.d/99-desktop.rules; udevadm control --reload`);
    await desk.says(0, `${desk.read(stick.folder)} && umount ${stick.folder}`);
    expectPrepared(desk, stick.image);
  });
});

describe('a stick that lies', () => {
  const tags = ['ready-means-read-back'];

  onBus('about its size is found by prove, and never ready', { tags, timeout }, async () => {
    const stick = await desk.stick('fat', { realBytes: 2_400_000 });
    await desk.guest.run(stick.mount());
    expect(await desk.says(readiness.notReady, desk.prepare('recovery', stick.folder))).toContain(
      '[plan/read-back-differs]',
    );
    await desk.says(readiness.notReady, `stickwright verify ${stick.folder}`);
    const small = await desk.stick('empty', { mebibytes: 8, realBytes: 2_400_000 });
    const said = await desk.says(readiness.notReady, `stickwright prove ${small.device} --drive-size 8.39MB`);
    expect(said).toMatch(/\[medium\/capacity-false\] It states 8\.39 MB .* and keeps 2\.40 MB/);
  });
});
