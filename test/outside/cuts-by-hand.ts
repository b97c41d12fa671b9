import { copyFileSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { describe, expect } from 'vitest';
import { familyExamples, firmwareTree, noise, panelLabel, sha256 } from '../fixtures/desk.ts';
import {
  exitCodesIn,
  makeStick,
  mountSticks,
  repairStick,
  seeStick,
  stickwrightInKernel,
} from '../fixtures/kernel/kernel-sticks.ts';
import { quoted, runInKernel } from '../fixtures/kernel/start-kernel.ts';
import { seeded } from '../fixtures/volumes/power-cuts.ts';
import { makeSparse, run } from '../fixtures/volumes/scratch.ts';
import type { needs } from './needs.ts';

const family = '--family samples/families/sedge.yaml';
const job = `--mode recovery --label ${quoted(panelLabel)} --running reed.746 ${family}`;
const own = { 'holiday.jpg': noise(9, 20_000) };
const leftovers = { 'reed.1096_5B_first_home.zip': noise(7, 50_000) };

const loopOverDisk = 'load_modules "$modules"/drivers/block/loop.ko && losetup /dev/loop0 /dev/ubdc || exit 1';

/**
 * What is done at the desk (/run/desk, ext4), on a stick (/run/stick0) and on a raw drive (/dev/loop0 over /dev/ubdc:
 * the only one without USB that may be erased), after what the shell does BEFORE; and what a second start finds of it.
 */
const commands: readonly {
  readonly name: string;
  readonly before?: string;
  readonly does: readonly string[];
  readonly finds: string;
}[] = [
  {
    name: 'seal new',
    does: ['seal new'],
    finds: 'node bin/stickwright.js seal show',
  },
  {
    name: 'shelf add',
    does: ['shelf add "$ARCHIVE" --shelf /run/desk/shelf'],
    finds: 'node bin/stickwright.js shelf check --shelf /run/desk/shelf --json | grep -q \'"packagesRead":1\'',
  },
  {
    name: 'shelf remove',
    does: ['shelf add "$ARCHIVE" --shelf /run/desk/shelf', 'shelf remove "$NAME" --shelf /run/desk/shelf --yes'],
    finds: '! node bin/stickwright.js shelf list --shelf /run/desk/shelf --json | grep -q "$SUM"',
  },
  {
    name: 'shelf export to a stick',
    does: [
      'shelf add "$ARCHIVE" --shelf /run/desk/shelf',
      'shelf export "$NAME" --to /run/stick0 --shelf /run/desk/shelf',
    ],
    finds: 'echo "$SUM  /run/stick0/$NAME" | sha256sum -c',
  },
  {
    name: 'shelf add to a shelf on a stick',
    does: ['shelf add "$ARCHIVE" --shelf /run/stick0/shelf'],
    finds: 'node bin/stickwright.js shelf check --shelf /run/stick0/shelf --json | grep -q \'"packagesRead":1\'',
  },
  {
    name: 'round plan, prepare, record and export',
    does: [
      'shelf add "$ARCHIVE" --expect-sha256 "$SUM"',
      'round plan /run/desk/north.csv',
      'round prepare --stick /run/stick0 --yes',
      'round record Hall --build reed.1717',
      'round export --csv /run/desk/done.csv --report /run/desk/report.html',
    ],
    finds: [
      'node bin/stickwright.js round status --json | grep -q \'"done":1\'',
      'grep -q reed.1717 /run/desk/done.csv && grep -q "</html>" /run/desk/report.html',
      'cd /run/stick0 && sha256sum -c stickwright/checksums.sha256',
    ].join(' && '),
  },
  {
    name: 'round merge',
    before: [
      'node bin/stickwright.js shelf add "$ARCHIVE" --expect-sha256 "$SUM" && node bin/stickwright.js round plan /run/desk/north.csv',
      'cp -r /run/desk/north.round /run/desk/other.round',
      'node bin/stickwright.js round record Hall --build reed.1717 --round /run/desk/other.round',
    ].join(' >/dev/null || exit 1\n'),
    does: ['round merge /run/desk/other.round'],
    finds: 'node bin/stickwright.js round status --json | grep -q \'"done":1\'',
  },
  {
    name: 'family new',
    does: ['family new --from "$EXAMPLES" --to /run/desk/families --yes'],
    finds: [
      'node bin/stickwright.js family check /run/desk/families',
      'cmp /run/desk/families/family.schema.json samples/families/family.schema.json',
      'node bin/stickwright.js label "86:QE by R9" --family /run/desk/families | grep -q "factory R9"',
    ].join(' && '),
  },
  {
    name: 'format of a raw drive',
    before: loopOverDisk,
    does: [`format /dev/loop0 --for recovery ${family} --drive-size 64MiB --volume-label PANEL`],
    finds:
      'fsck.fat -n /dev/ubdc1 && mkdir /run/raw && mount -t vfat /dev/ubdc1 /run/raw && [ -z "$(ls -A /run/raw)" ] && echo x >/run/raw/x',
  },
  {
    name: 'format and prepare of a raw drive',
    before: loopOverDisk,
    does: [
      `format /dev/loop0 --for recovery ${family} --drive-size 64MiB`,
      `prepare "$ARCHIVE" ${job} --yes --stick /dev/loop0`,
    ],
    finds:
      'fsck.fat -n /dev/ubdc1 && mkdir /run/raw && mount -r -t vfat /dev/ubdc1 /run/raw && cd /run/raw && sha256sum -c stickwright/checksums.sha256',
  },
  {
    name: 'prepare --image',
    does: [`prepare "$ARCHIVE" ${job} --image /run/desk/out.img --size auto --yes`],
    finds: 'cd /run/desk && sha256sum -c out.img.sha256',
  },
  {
    name: 'format of a new image',
    does: [`format /run/desk/new.img --for recovery ${family} --size 64MB --yes`],
    finds: 'cd /run/desk && fsck.fat -n --offset 2048 new.img || [ "$(stat -c %s new.img)" -gt 60000000 ]',
  },
  {
    name: 'verify --returned --clear',
    before: 'unset STICKWRIGHT_ROUND', // nobody planned one
    does: [`prepare "$ARCHIVE" ${job} --yes --stick /run/stick0`, 'verify /run/stick0 --returned --clear --yes'],
    finds: '[ "$(ls /run/stick0)" = holiday.jpg ]',
  },
  {
    name: 'prove --free-space',
    does: ['prove /run/stick0 --free-space --yes'],
    finds: '[ "$(ls /run/stick0)" = holiday.jpg ]',
  },
];

export interface ByHand {
  readonly folder: string;
  readonly archive: () => string;
  readonly onKernel: ReturnType<typeof needs>;
}

/** What takes too long for the gate: `npm run cuts`. */
export function describeCutsByHand({ folder, archive, onKernel }: ByHand): void {
  describe('when the power goes at the moment at which a command says that it is done', () => {
    for (const { name, before = '', does, finds } of commands) {
      onKernel(`${name}: all of it is there`, { tags: ['ready-is-on-the-medium'], timeout: 600_000 }, async () => {
        const stick = await makeStick(join(folder, `${name}.img`), own);
        const desk = makeSparse(join(folder, `${name} desk.img`), 400 * 2 ** 20);
        run('mkfs.ext4', '-q', desk);
        const disks = [stick, desk, makeSparse(join(folder, `${name} raw.img`), 64 * 2 ** 20)];
        writeFileSync(join(folder, 'examples.yaml'), familyExamples);
        const set = [
          `EXAMPLES=${quoted(join(folder, 'examples.yaml'))}`,
          `ARCHIVE=${quoted(archive())} NAME=$(basename "$ARCHIVE") SUM=$(sha256sum <"$ARCHIVE" | cut -c-64)`,
          'export STICKWRIGHT_SEAL_KEY=/run/desk/seal/desk.key STICKWRIGHT_SHELF=/run/desk/shelf STICKWRIGHT_WHO=Ada',
          'export STICKWRIGHT_ROUND=/run/desk/north.round STICKWRIGHT_COLUMNS=/run/desk/columns.json STICKWRIGHT_FAMILIES=samples/families',
          `${mountSticks(1)}\nmkdir /run/desk && mount /dev/ubdb /run/desk || exit 1`,
        ];
        const list =
          "printf 'Room;Label;Running;Serial\\r\\nHall;K2-second 75/5B;reed.746;SD1\\r\\n' >/run/desk/north.csv; sync /run/desk/*";
        const script = [...set, list, before, ...does.map(stickwrightInKernel)].join('\n');
        const printed = await runInKernel({ disks, script });
        expect(
          exitCodesIn(printed).every((code) => code === 0 || code === 4),
          printed,
        ).toBe(true);
        expect(exitCodesIn(printed)).toHaveLength(does.length);
        await runInKernel({ disks, script: [...set, `(${finds})`].join('\n') });
      });
    }
  });

  describe('when the power goes at any moment before the word', () => {
    onKernel(
      'nobody counts it as ready, nobody loses a file, and the same command finishes it, or a check and the same command',
      { tags: ['work-goes-on', 'nobodys-files-vanish', 'never-half-a-file'], timeout: 3_600_000 },
      async () => {
        const random = seeded(20261128);
        let wholeSeconds = 0;
        const tally = { cuts: 0, ready: 0, damaged: 0, finished: 0 };
        for (let turn = 0; turn < 16; turn++) {
          const images: string[] = [];
          for (let at = 0; at < 4; at++)
            images.push(await makeStick(join(folder, `turn ${turn} ${at}.img`), { ...own, ...leftovers }));
          const words = (at: number): string =>
            `prepare ${quoted(archive())} ${job} --leftovers set-aside --yes --stick /run/stick${at}`;
          const apart = images.map(
            (_, at) => `(sleep ${(random() * 4).toFixed(2)}; node bin/stickwright.js ${words(at)} >/dev/null 2>&1) &`,
          );
          // At a moment drawn from all that the four take together, which the first turn, cut after the last word, has
          // measured.
          const until = turn === 0 ? 'wait' : `sleep ${(random() * wholeSeconds).toFixed(2)}`;
          const script = [
            mountSticks(4),
            'began=$(date +%s)',
            ...apart,
            until,
            'echo "took: $(($(date +%s) - began))"',
          ];
          const told = await runInKernel({ disks: images, script: script.join('\n') });
          if (turn === 0) wholeSeconds = Number(/took: (\d+)/.exec(told)?.[1]);
          let said = '';
          const again = async (): Promise<readonly number[]> => {
            const words4 = images.map((_, at) => stickwrightInKernel(words(at)));
            said = await runInKernel({ disks: images, script: [mountSticks(4), ...words4].join('\n') });
            return exitCodesIn(said);
          };
          for (const image of images) {
            tally.cuts++;
            const { files } = seeStick(image, folder);
            const sums = Object.values(files);
            const isLost =
              !sums.includes(sha256(own['holiday.jpg'])) ||
              !sums.includes(sha256(leftovers['reed.1096_5B_first_home.zip']));
            if (isLost) copyFileSync(image, `out/${basename(image)}`); // to be looked at
            expect(files['holiday.jpg'], image).toBe(sha256(own['holiday.jpg']));
            expect(sums, image).toContain(sha256(leftovers['reed.1096_5B_first_home.zip']));
            const hasManifest =
              files['stickwright/manifest.json'] !== undefined &&
              files['stickwright/manifest.json'] !== sha256(Buffer.alloc(0));
            if (!hasManifest) continue;
            tally.ready++;
            for (const [path, bytes] of Object.entries(firmwareTree))
              expect(files[path], `${image} ${path}`).toBe(sha256(bytes));
          }
          const codes = await again();
          const damaged = images.filter((_, at) => codes[at] !== 0 && codes[at] !== 4);
          tally.damaged += damaged.length;
          if (damaged.length > 0) process.stdout.write(said.replace(/^[\s\S]*?ERROR/, 'ERROR'));
          for (const image of damaged) repairStick(image, folder);
          const last = damaged.length === 0 ? codes : await again();
          expect(
            last.every((code) => code === 0 || code === 4),
            `${turn}: ${codes.join(' ')}; after a check ${last.join(' ')}`,
          ).toBe(true);
          for (const image of images) {
            const { files } = seeStick(image, folder);
            for (const [path, bytes] of Object.entries(firmwareTree)) expect(files[path]).toBe(sha256(bytes));
            expect(Object.values(files)).toContain(sha256(leftovers['reed.1096_5B_first_home.zip']));
            expect(files['holiday.jpg']).toBe(sha256(own['holiday.jpg']));
            tally.finished++;
          }
        }
        process.stdout.write(`${JSON.stringify(tally)}\n`);
        expect(tally.ready).toBeLessThan(tally.cuts); // or nothing was cut
        expect(tally.finished).toBe(tally.cuts);
      },
    );
  });
}
