import { afterAll, beforeAll, describe, expect } from 'vitest';
import { Desk, expectPrepared, own, readiness } from '../fixtures/bus/desk.ts';
import { missingForGuest } from '../fixtures/bus/make-boot.ts';
import { quoted } from '../fixtures/kernel/start-kernel.ts';
import { itWithout, missingPrograms, needs } from './needs.ts';

// A person without rights who is signed in at the seat, by Debian's systemd, logind (pam_systemd), polkit and udisks2:
// what a desktop does with a stick for who sits there.
const services = {
  systemd: 'systemd libpam-systemd',
  'dbus-daemon': 'dbus',
  pkaction: 'polkitd',
  udisksctl: 'udisks2',
};
const missing = [missingForGuest(), missingPrograms(services)].filter((hint) => hint !== '').join('; ');
const atSeat = missing === '' ? needs({}) : itWithout(missing);

let desk: Desk;
beforeAll(async () => {
  if (missing === '') desk = await Desk.open('signed-in.sh');
}, 300_000);
afterAll(() => desk?.close());

/** Bash: SH in a session of theirs at the seat, as `login` begins one. */
function as(sh: string): string {
  const session = '-p User=person -p PAMName=login -p TTYPath=/dev/tty1 -E XDG_SEAT=seat0 -E XDG_VTNR=1';
  const words = '-E NODE -E LANG -E COLUMNS -E TMPDIR -E STICKWRIGHT_FAMILIES';
  const command = `stickwright() { "$NODE" bin/stickwright.js "$@"; }; ${sh}`;
  return `systemd-run --quiet --wait --pipe --collect --same-dir ${session} ${words} bash -c ${quoted(command)}`;
}

describe('a person who is signed in', () => {
  const tags = ['only-the-stick', 'ready-is-on-the-medium'];
  const theirs = 'prepares and ejects what udisks mounted for them, and is told why a whole drive is not theirs';
  atSeat(theirs, { tags, timeout: 600_000 }, async () => {
    await desk.letOthersRead();
    const stick = await desk.stick('fat', { files: own, volatile: true });
    expect(await desk.says(0, as('loginctl show-session $XDG_SESSION_ID'))).toMatch(/Name=person .*Active=yes/);
    const seen = await desk.says(0, as('stickwright drives'));
    expect(seen).toMatch(new RegExp(`${stick.device} .* 67,108,864 bytes .* serial ${stick.serial};`));
    for (const sh of [desk.prepare('recovery', stick.device), desk.format(stick.device)]) {
      const said = await desk.says(readiness.noAnswer, as(sh));
      expect(said, sh).toContain('[file/not-permitted]');
      expect(said, sh).toContain('give the folder where it is mounted');
    }
    expect(stick.medium.writes).toBe(0);

    const folder = '/media/person/PANEL';
    const mount = (): string => as(`udisksctl mount --no-user-interaction -b ${stick.device}1`);
    expect(await desk.says(0, mount())).toContain(`at ${folder}`);
    expect(await desk.says(0, as('stickwright drives'))).toContain(`at ${folder}`);
    const said = await desk.says(readiness.unproven, as(`${desk.prepare('recovery', folder)} --eject`));
    expect(said).toContain(`You can pull ${folder} now.`);
    // Its power is off: it is no longer there.
    await desk.says(0, `udevadm settle; test ! -e ${stick.device}`);
    await stick.pull();
    expectPrepared(desk, stick.image);

    await stick.back();
    await desk.says(0, mount());
    await desk.says(readiness.unproven, as(`stickwright verify ${folder} --replugged`));
    await desk.says(0, as(`cat ${folder}/holiday.jpg >/dev/null && udisksctl unmount -b ${stick.device}1`));
  });
});
