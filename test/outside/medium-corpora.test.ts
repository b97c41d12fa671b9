import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { checkMedium } from '../../src/core/checks/medium/check-medium.ts';
import { auditMediumAt } from '../../src/io/medium/audit-medium-at.ts';
import { needs } from './needs.ts';

const corpora = process.env.STICKWRIGHT_CORPORA;
const volumes = corpora === undefined ? undefined : join(corpora, 'volumes');
const folder = mkdtempSync(join(tmpdir(), 'volumes-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const codesOf = async (path: string): Promise<readonly string[]> =>
  checkMedium(await auditMediumAt(path), { target: 'volume', mode: 'recovery' }).map(({ code }) => code);

/**
 * What each damaged volume of dosfstools' own tests must be called; fsck.fat finds an error in every one (its
 * tests/Makefile.am).
 */
const damaged: Readonly<Record<string, readonly string[]>> = {
  'check-bad_names': ['medium/name-invalid'],
  'check-chain_to_free_cluster': ['medium/chain-broken'],
  'check-chain_to_other_file': ['medium/lost-clusters', 'medium/cross-linked'],
  'check-chain_too_long': ['medium/chain-long'],
  'check-circular_chain': ['medium/lost-clusters', 'medium/chain-loops'],
  'check-dot_entries': ['medium/folder-damaged'],
  'check-duplicate_names': ['medium/name-duplicate'],
  'check-fat12_first_cluster': ['medium/media-byte-differs', 'medium/fat-start-wrong'],
};

/** xxd -r (vim's hexdump) makes the image; it seeks over holes. */
function unfold(dump: string): string {
  const image = join(folder, 'volume.img');
  rmSync(image, { force: true });
  execFileSync('xxd', ['-r', dump, image]);
  return image;
}

if (volumes === undefined || !existsSync(volumes)) {
  it.skip('damaged and sound volumes of other projects [did not run: STICKWRIGHT_CORPORA, set to a folder of public test data]', () => {});
} else {
  const outside = needs({ xxd: 'xxd' });
  const dosfstools = join(volumes, 'dosfstools');
  describe('volumes of dosfstools', () => {
    for (const name of readdirSync(dosfstools).filter((file) => file.endsWith('.fsck'))) {
      outside(`${name} is damaged, and its repaired twin is sound`, async () => {
        const stem = name.slice(0, -'.fsck'.length);
        expect(await codesOf(unfold(join(dosfstools, name)))).toEqual(damaged[stem]);
        expect(await codesOf(unfold(join(dosfstools, `${stem}.xxd`)))).toEqual([]);
      });
    }
  });

  describe('sound volumes of other projects', () => {
    it.each(['rust-fatfs/fat12.img', 'rust-fatfs/fat16.img', 'go-exfat/test.exfat'])('%s has no flaw', async (name) => {
      expect(await codesOf(join(volumes, name))).toEqual([]);
    });
  });
}
