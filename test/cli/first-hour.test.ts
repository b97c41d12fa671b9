import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, vi } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makePublishedArchive, noise } from '../fixtures/desk.ts';
import { screenOf } from '../fixtures/screens.ts';
import { standIns } from '../fixtures/stand-ins.ts';
import { attachLoop, canMount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 300_000 });

const packageName = 'quartz_qb_r2_20240117.zip';
const label = '75:QB by R2';
const down = '\\x1b\\[B';
const enter = '\\r';

const attaching = canMount
  ? needs({ expect: 'expect', losetup: 'mount', unshare: 'util-linux' })
  : itWithout('the right to attach loop devices (run as root)');

let scratch: Scratch;
let home: string;
let desk: Record<string, string>;
let image: string;

/** A desk where nobody has used the tool, with one package in its download folder. */
beforeAll(async () => {
  scratch = makeScratch();
  home = join(scratch.path, 'home');
  const downloads = join(home, 'Downloads');
  mkdirSync(downloads, { recursive: true });
  await makePublishedArchive(downloads, { 'system.img': noise(7, 200_000) }, packageName);
  image = await makeFatImage(join(home, 'stick.img'), 80 * 2 ** 20, {
    kind: 'fat32',
    clusterBytes: 512,
    partitioned: true,
  });
  const under = (name: string): string => join(home, name);
  desk = {
    ...{ HOME: home, XDG_CONFIG_HOME: under('config'), XDG_DATA_HOME: under('data'), STICKWRIGHT_WHO: 'I. Marlow' },
    ...{ STICKWRIGHT_FAMILIES: '', STICKWRIGHT_SHELF: '', STICKWRIGHT_ROUND: '', XDG_DOWNLOAD_DIR: '' },
    ...{ NO_COLOR: '1', TERM: 'xterm' },
  };
});
afterAll(() => scratch.undo());

/** What one left half done is not for the next. */
afterEach(() => rmSync(join(home, 'data', 'stickwright', 'drafts'), { recursive: true, force: true }));

type Said = readonly (readonly [question: string, typed: string])[];

/** Sits down at a terminal of 80 by 24; gives the screens, one each time the person began to type, and the last. */
function sit(words: readonly string[], said: Said, around = (command: readonly string[]) => command) {
  const out = join(scratch.path, 'heard');
  const done = spawnSync(
    'expect',
    [
      ...['-f', resolve('test/fixtures/first-hour.exp'), out],
      ...around([process.execPath, resolve('bin/stickwright.js'), ...words]),
    ],
    {
      cwd: home,
      encoding: 'utf8',
      env: { ...process.env, ...desk },
      input: said.map(([question, typed]) => `${question}\t${typed}`).join('\n'),
    },
  );
  const pieces = readFileSync(out, 'utf8').split('\x1e');
  const screens = pieces.map((_, at) => screenOf(pieces.slice(0, at + 1).join('')));
  expect(`${done.stdout}${done.stderr}`, screens.at(-1)?.join('\n') ?? '').toBe('');
  return { code: done.status, screens, text: pieces.join('') };
}

const beforeTheFamily: Said = [
  ['Does the panel start', enter],
  ['update over the network say?', enter],
  ['open its settings', enter],
  ["label on the panel's back", `${label}${enter}`],
  ['same once more', `${label}${enter}`],
  ['Which package?', enter],
  ['Right so?', enter],
];

const afterTheFamily = (stick: string): Said => [
  ['Where did you read', `release note${enter}`],
  ['build on the About page', enter],
  ['The stick', `${down}${enter}`],
  ['Path of the folder', `${stick}${enter}`],
  ['Write as shown', `y${enter}`],
];

describe('the first hour', () => {
  needs({ expect: 'expect' })(
    'a first stick for an unknown family by guide alone, with at most twelve questions',
    { tags: ['any-maker', 'doubt-stays'] },
    () => {
      const said = [...beforeTheFamily, ...afterTheFamily(image)];
      expect(said.length).toBeLessThanOrEqual(12);
      const { code, screens, text } = sit(['guide'], said);
      keepScreens(screens);
      expect(code, screens.at(-1)?.join('\n')).toBe(4);
      expect(text).toContain('fit/family-unconfirmed');
      const last = screens.at(-1)?.join('\n') ?? '';
      expect(last).toContain('stickwright prepare');
      for (const screen of screens) for (const line of screen) expect(line.length).toBeLessThanOrEqual(80);
      // What was made says of itself how little it proves, and so does every later look at the stick.
      const families = join(home, 'config', 'stickwright', 'families');
      expect(readFileSync(join(families, 'quartz.yaml'), 'utf8')).toContain('made-from:');
      const later = stickwright(['verify', image, '--label', label], desk);
      expect(later.exitCode).toBe(4);
      expect(later.stdout.replace(/\s+/g, ' ')).toContain(
        'fit/family-unconfirmed (quartz_qb_r2_20240117.zip, on the word of I. Marlow; series: release note; factory: release note)',
      );
      // Nothing is left to go on with.
      expect(readdirSync(join(home, 'data', 'stickwright', 'drafts'))).toEqual([]);
    },
  );

  needs({ expect: 'expect' })(
    'nothing typed is lost: stopped at any question, it goes on where it was',
    { tags: ['work-goes-on'] },
    async () => {
      const other = await makeFatImage(join(home, 'other.img'), 80 * 2 ** 20, {
        ...{ kind: 'fat32', clusterBytes: 512, partitioned: true },
      });
      // The family of the first stick is forgotten: a desk as at the beginning.
      rmSync(join(home, 'config'), { recursive: true, force: true });
      const stopped = sit(['guide'], [...beforeTheFamily, ['Where did you read', '\\x03']]);
      expect(stopped.code).toBe(130);
      expect(stopped.text).toContain('Nothing is lost');
      const glance = sit([], []);
      expect(glance.text.replace(/\s+/g, ' ')).toContain(`A stick was begun for ${label}. Go on: stickwright guide`);
      expect(glance.text.trimEnd().split('\n').length).toBeLessThanOrEqual(12);
      // The words of who only names the job lead there too.
      const { code, text } = sit(['prepare'], [['begun and not finished', enter], ...afterTheFamily(other)]);
      expect(code).toBe(4);
      expect(text).not.toContain('same once more');
      expect(stickwright(['verify', other, '--label', label], desk).exitCode).toBe(4);
    },
  );

  needs({ expect: 'expect' })('family new keeps what was answered, and checks it when it is given', () => {
    const first: Said = [
      ['Short name', `Quartz${enter}`],
      ['Small letters', `\\x15slate${enter}`],
      ['In words', enter],
      ['Label 1', `75:QB by R2${enter}`],
      ['its parts', `\\x15size=76, series=QB${enter}`],
      ['are not all in it', `\\x15size=75, series=QB, factory=R2${enter}`],
      ['Label 2', `110:QD${enter}`],
      ['its parts', '\\x03'],
    ];
    const stopped = sit(['family', 'new'], first);
    expect(stopped.code).toBe(130);
    const { code, text } = sit(
      ['family', 'new', '--to', join(home, 'own families')],
      [
        ['Go on with slate', enter],
        ['its parts', `\\x15size=110, series=QD${enter}`],
        ['Label 3', enter],
        ['Package name 1', `slate_qb_r2_20240117.zip${enter}`],
        ['its parts, and its build', enter],
        ['Package name 2', enter],
        ['where factory is not there', `\\x15main${enter}`],
        ['Where did you read', `letter${enter}`],
        ['Write slate.yaml', enter],
      ],
    );
    expect(code, text).toBe(0);
    const written = readFileSync(join(home, 'own families', 'slate.yaml'), 'utf8');
    expect(written).toContain("absent: { factory: 'main' }");
    expect(written).toContain('agree: [series, factory]');
  });

  attaching(
    'a stick is waited for where none is plugged in, and taken when it comes',
    { tags: ['plan-before-touch'] },
    async () => {
      const file = await makeFatImage(join(home, 'plugged in.img'), 80 * 2 ** 20, {
        ...{ kind: 'fat32', clusterBytes: 512, partitioned: true },
      });
      const device = attachLoop(scratch, file);
      // A removable drive on the USB bus is what no test has; it comes with the third look.
      const listed = JSON.parse(run('lsblk', '--json', '--bytes', '--output-all', device)) as {
        blockdevices: Record<string, unknown>[];
      };
      for (const one of listed.blockdevices)
        Object.assign(one, {
          tran: 'usb',
          rm: true,
          type: 'disk',
          hotplug: true,
          model: 'Slate Drive',
          serial: 'SL-0042',
        });
      const [plugged, looks] = [join(home, 'lsblk.json'), join(home, 'looks')];
      writeFileSync(plugged, JSON.stringify(listed));
      writeFileSync(looks, '');
      const none = `echo '{"blockdevices": []}'`;
      const system = standIns({
        lsblk: `echo look >> '${looks}'; [ "$(wc -l < '${looks}')" -lt 3 ] && ${none} || cat '${plugged}'`,
      });
      try {
        const known = beforeTheFamily.slice(0, -1);
        const said: Said = [
          ...known,
          ['build on the About page', enter],
          ['The stick', enter],
          ['Write as shown', `y${enter}`],
        ];
        const { code, text } = sit(['guide'], said, system.around);
        expect(code, text).toBe(4);
        expect(text).toContain('Plug it in now');
        // Who agrees sees once more which drive it is, and what it will do.
        expect(text.replace(/\s+/g, ' ')).toMatch(
          /Write as shown: \S+ \(Slate Drive, 83\.9 MB, serial SL-0042.*\), for in-os\?/,
        );
      } finally {
        system.undo();
      }
      expect(stickwright(['verify', file, '--label', label], desk).exitCode).toBe(4);
    },
  );

  needs({ expect: 'expect', mcopy: 'mtools' })(
    'a plate is pasted whole, and what lies on the stick already is asked about',
    { tags: ['nobodys-files-vanish'] },
    async () => {
      const used = await makeFatImage(join(home, 'used.img'), 80 * 2 ** 20, {
        ...{ kind: 'fat32', clusterBytes: 512, partitioned: true },
      });
      run('mcopy', '-i', `${used}@@1M`, join(home, 'Downloads', packageName), '::old_firmware.zip');
      const known: Said = [
        ...beforeTheFamily.slice(0, 3),
        ["label on the panel's back", `Serial 0417${enter}${label}${enter}100-240 V${enter}`],
        ['Which line is the model?', enter],
        ['Which package?', enter],
        ['build on the About page', enter],
        ['The stick', `${down}${enter}`],
        ['Path of the folder', `${used}${enter}`],
      ];
      const stopped = sit(['guide'], [...known, ['What shall become of them?', enter]]);
      expect(stopped.code).toBe(1);
      expect(stopped.text).toContain('old_firmware.zip');
      const before: Said = [['begun and not finished', enter], ...known.slice(-2)];
      const { code, text } = sit(
        ['guide'],
        [...before, ['What shall become of them?', `${down}${enter}`], ['Write as shown', `y${enter}`]],
      );
      expect(code, text).toBe(4);
      expect(text).toContain('--leftovers set-aside');
      const listed = run('mdir', '-i', `${used}@@1M`, '-/', '-b', '::');
      expect(listed).toMatch(/set-aside-\w+\/old_firmware\.zip\.set-aside/);
      expect(stickwright(['verify', used, '--label', label], desk).exitCode).toBe(4);
    },
  );

  needs({ expect: 'expect' })(
    'a stick that wipes is made only with a name for the approval',
    { tags: ['plan-before-touch'] },
    async () => {
      const wiping = await makeFatImage(join(home, 'wiping.img'), 80 * 2 ** 20, {
        ...{ kind: 'fat32', clusterBytes: 512, partitioned: true },
      });
      const said: Said = [
        ['Does the panel start', `${down}${enter}`],
        ['worth keeping?', enter],
        ['Who approved the wipe', `M. Aldane${enter}`],
        ["label on the panel's back", `${label}${enter}`],
        ['same once more', `${label}${enter}`],
        ['Which package?', enter],
        ['The stick', `${down}${enter}`],
        ['Path of the folder', `${wiping}${enter}`],
        ['WIPES THE PANEL', `y${enter}`],
      ];
      const { code, screens, text } = sit(['guide'], said);
      expect(code, text).toBe(4);
      expect(text.replace(/\s+/g, ' ')).toContain('EVERYTHING ON THE PANEL GOES; M. Aldane approved it.');
      expect(screens.at(-1)?.join('\n')).toContain('WIPED');
      expect(stickwright(['verify', wiping, '--label', label, '--mode', 'recovery'], desk).exitCode).toBe(4);
    },
  );

  needs({ expect: 'expect' })('no stick is made where a milder way is left, or nobody may say yes', () => {
    const toOffers = `${down}${down}${down}${enter}`;
    const air = sit(
      ['guide'],
      [
        ['Does the panel start', enter],
        ['update over the network say?', toOffers],
        ['Its label', enter],
      ],
    );
    expect(air.code).toBe(0);
    expect(air.text).toContain('OVER THE AIR, no stick needed');
    const dark = sit(
      ['guide'],
      [
        ['Does the panel start', `${down}${enter}`],
        ['worth keeping?', enter],
        ['Who approved the wipe', enter],
      ],
    );
    expect(dark.code).toBe(4);
    expect(dark.text).toContain('Nobody has approved that yet.');
    // A question back changes the answer before it.
    const back = sit(
      ['guide'],
      [
        ['Does the panel start', enter],
        ['update over the network say?', `\\x1b\\[A${enter}`],
        ['Does the panel start', `${down}${down}${enter}`],
      ],
    );
    expect(back.code).toBe(4);
    expect(back.text).toContain('Nobody has looked at the panel yet.');
  });

  it('is short where nobody sits at a terminal', () => {
    const { exitCode, stdout } = stickwright([]);
    expect(exitCode).toBe(0);
    expect(stdout.split('\n').length).toBeLessThanOrEqual(12);
    expect(stdout).toContain('stickwright guide');
    const led = stickwright(['guide']);
    expect([led.exitCode, led.stderr]).toEqual([2, expect.stringContaining('this is not a terminal')]);
    expect(stickwright(['prepare']).exitCode).toBe(2);
  });
});

/** Kept as text, for whoever wants to see what such a person sees. */
function keepScreens(screens: readonly (readonly string[])[]): void {
  const folder = 'out/first-hour';
  if (!existsSync(folder)) mkdirSync(folder, { recursive: true });
  const rule = '-'.repeat(80);
  writeFileSync(
    join(folder, 'guide.txt'),
    screens.map((screen, at) => `${rule}\nscreen ${at + 1}\n${rule}\n${screen.join('\n')}\n`).join('\n'),
  );
}
