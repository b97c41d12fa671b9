import { spawnSync } from 'node:child_process';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { Desk, expectPrepared, onBus, own, readiness } from '../fixtures/bus/desk.ts';
import { missingForGuest } from '../fixtures/bus/make-boot.ts';
import { firmwareTree, packageName } from '../fixtures/desk.ts';
import { quoted } from '../fixtures/kernel/start-kernel.ts';

// A technician's day on QEMU's USB bus: Debian's kernel, its vfat, exfat and usb-storage drivers, udev, util-linux.
// What other tests show too, in their way, is in sticks-on-the-bus.by-hand.ts and takes minutes more.
let desk: Desk;
beforeAll(async () => {
  if (missingForGuest() === '') desk = await Desk.open();
}, 300_000);
afterAll(() => desk?.close());

const timeout = 600_000;

describe('drives', () => {
  onBus('lists each stick as it is, and no drive that is none', { tags: ['only-the-stick'], timeout }, async () => {
    const [fat, gpt] = [await desk.stick('fat', { files: own }), await desk.stick('gpt')];
    const [exfat, empty] = [await desk.stick('exfat'), await desk.stick('empty')];
    await desk.guest.run(fat.mount());
    const said = await desk.says(0, 'stickwright drives');
    expect(said).toMatch(new RegExp(`${fat.device} QEMU QEMU HARDDISK 67,108,864 bytes .* serial ${fat.serial};`));
    expect(said).toMatch(new RegExp(`${fat.device}1: FAT32, "PANEL", .* 65.0 MB free; at ${fat.folder} `));
    expect(said).toMatch(
      new RegExp(`${gpt.device}1: FAT32, .* recovery would not do: The stick has a GPT partition table`),
    );
    expect(said).toMatch(new RegExp(`${exfat.device}: exFAT, "STICK", .* in-os would do recovery would not do`));
    expect(said).toMatch(new RegExp(`serial ${empty.serial}; .* no volume was seen on it`));
    expect(said).not.toContain('/dev/vda');
    expect(await desk.says(0, 'stickwright drives --all')).toMatch(/\/dev\/vda .* never written/);
    expect(await desk.says(3, desk.format('/dev/vda'))).toContain('[stick/refused]');
  });

  onBus('--watch tells a stick that came and one that went', { timeout }, async () => {
    const watch = 'stickwright drives --watch --json >/run/watch 2>&1 & echo $! >/run/watching';
    const until = (what: string): Promise<string> =>
      desk.says(0, `for i in $(seq 600); do grep -q ${what} /run/watch && break; sleep 0.2; done; cat /run/watch`);
    await desk.guest.run(`(${watch}) </dev/null`);
    await until('drives');
    const stick = await desk.stick('fat');
    await until(stick.serial);
    await stick.pull();
    expect(await until('went')).toMatch(new RegExp(`"came".*${stick.serial}.*"went".*${stick.serial}`));
    await desk.guest.run('kill -INT $(cat /run/watching)');
    await stick.back();
  });
});

describe('prepare', () => {
  const tags = ['ready-means-read-back', 'any-machine-checks', 'read-alike-by-all'];

  onBus('of a raw stick: ejected, plugged in again, and read alike by the kernel', { tags, timeout }, async () => {
    const stick = await desk.stick('fat', { files: own, volatile: true });
    const said = await desk.says(readiness.unproven, `${desk.prepare('recovery', stick.device)} --eject`);
    expect(said).toContain(`You can pull ${stick.device} now.`);
    await stick.pull();
    expectPrepared(desk, stick.image);
    await stick.back();
    await desk.says(readiness.unproven, `stickwright verify ${stick.device}`);
    const read = await desk.says(0, `${stick.mount()} && ${desk.read(stick.folder)}`);
    for (const path of [...Object.keys(firmwareTree), 'holiday.jpg']) expect(read).toContain(`./${path} `);
    expect(read).toContain('sums right');
    await desk.says(readiness.unproven, `stickwright verify ${stick.folder} --replugged`);
  });

  onBus('of mounted sticks, FAT32 and exFAT as sold', { tags, timeout }, async () => {
    const fat = await desk.stick('fat', { files: own, volatile: true });
    await desk.guest.run(fat.mount());
    await desk.says(readiness.unproven, desk.prepare('recovery', fat.folder));
    // Pulled without a word, as it happens after "ready".
    await fat.pull();
    expectPrepared(desk, fat.image);
    const exfat = await desk.stick('exfat', { volatile: true });
    await desk.guest.run(exfat.mount('-t exfat', ''));
    await desk.says(readiness.unproven, desk.prepare('in-os', exfat.folder));
    await exfat.pull();
    expect(spawnSync('fsck.exfat', ['-n', exfat.image], { encoding: 'utf8' }).stdout).toContain('clean');
    await exfat.back();
    await desk.guest.run(`umount -l ${exfat.folder}; ${exfat.mount('-t exfat', '')}`);
    const read = await desk.says(0, desk.read(exfat.folder));
    expect(read).toMatch(new RegExp(`^\\./${packageName} .*sums right`));
    await desk.says(readiness.unproven, `stickwright verify ${exfat.folder}`);
  });

  onBus('of four at once: raw and mounted, one of which is pulled', { tags: ['work-goes-on'], timeout }, async () => {
    const [first, second] = [await desk.stick('fat', { files: own }), await desk.stick('fat')];
    const [third, pulled] = [await desk.stick('fat'), await desk.stick('fat', { files: own })];
    await desk.guest.run(`${first.mount()}; ${second.mount()}`);
    const targets = [first.folder, second.folder, third.device, pulled.device];
    const isPulled = pulled.medium.cutAfter(20).then(() => pulled.pull());
    const said = await desk.says(readiness.noAnswer, desk.prepare('recovery', ...targets));
    await isPulled;
    expect(said.match(/Written, read back and recorded/g)).toHaveLength(3);
    expect(said).toMatch(/Stick \/dev\/sd. ERROR \[stick\/gone\]/);
    await pulled.back();
    await desk.says(readiness.unproven, desk.prepare('recovery', pulled.device));
    await desk.guest.run(`umount ${first.folder} ${second.folder}`);
    for (const { image } of [first, second, third]) expectPrepared(desk, image);
    expectPrepared(desk, pulled.image, true);
  });

  onBus('stops where the stick is write-protected, full, or mounted elsewhere', { timeout }, async () => {
    const locked = await desk.stick('fat', { readOnly: true });
    expect(await desk.says(readiness.noAnswer, desk.prepare('recovery', locked.device))).toContain('[stick/read-only]');
    await desk.guest.run(locked.mount());
    expect(await desk.says(readiness.notReady, desk.prepare('recovery', locked.folder))).toContain('[stick/read-only]');
    const full = await desk.stick('fat', { mebibytes: 48 });
    await desk.guest.run(`${full.mount()}; head -c 46M /dev/zero >${full.folder}/film.mp4`);
    expect(await desk.says(readiness.notReady, desk.prepare('recovery', full.folder))).toContain('[plan/does-not-fit]');
    expect(await desk.says(readiness.noAnswer, desk.prepare('recovery', full.device))).toContain('[stick/in-use]');
  });
});

describe('a person without rights', () => {
  const theirs = 'prepares what the desktop mounted for them, and is told why a whole drive is not theirs';
  onBus(theirs, { tags: ['only-the-stick'], timeout }, async () => {
    const as = (sh: string): string =>
      `HOME=/run/tmp setpriv --reuid=1000 --regid=1000 --clear-groups bash -c ${quoted(sh)}`;
    await desk.letOthersRead();
    const stick = await desk.stick('fat', { files: own });
    // What is plugged in they see as everybody does.
    const seen = await desk.says(0, as('stickwright drives'));
    expect(seen).toMatch(new RegExp(`${stick.device} .* 67,108,864 bytes .* serial ${stick.serial};`));
    expect(seen).toMatch(new RegExp(`${stick.device}1: FAT32, "PANEL"`));
    for (const sh of [desk.prepare('recovery', stick.device), desk.format(stick.device)]) {
      const said = await desk.says(readiness.noAnswer, as(sh));
      expect(said, sh).toContain('[file/not-permitted]');
      expect(said, sh).toContain('give the folder where it is mounted');
    }
    // As udisks mounts it for the person who sits there (its default options for vfat).
    const options = 'nosuid,nodev,uid=1000,gid=1000,fmask=0022,dmask=0022,utf8,showexec,flush,errors=remount-ro';
    await desk.guest.run(stick.mount(`-t vfat -o ${options}`));
    const said = await desk.says(readiness.unproven, as(desk.prepare('recovery', stick.folder)));
    expect(said).toContain('[stick/rest-as-listed]');
    await desk.says(readiness.unproven, as(`stickwright verify ${stick.folder}`));
    await stick.pull();
    expectPrepared(desk, stick.image);
  });
});
