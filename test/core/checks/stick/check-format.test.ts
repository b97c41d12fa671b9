import { truncateSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { checkCondition, checkFormat, checkOneVolume } from '../../../../src/core/checks/stick/check-format.ts';
import { customaryRules } from '../../../../src/core/model/customary-rules.ts';
import type { StickFacts } from '../../../../src/core/model/stick-facts.ts';
import { createStickImage } from '../../../../src/io/format/image-files.ts';
import { openFileDevice } from '../../../../src/io/volume/file-device.ts';
import { openVolume } from '../../../../src/io/volume/open-volume.ts';
import { recordedDrive } from '../../../fixtures/drives.ts';
import { masterBootRecord } from '../../../fixtures/volumes/format-fat.ts';
import { makeScratch, type Scratch } from '../../../fixtures/volumes/scratch.ts';

const mib = 2 ** 20;

let scratch: Scratch;
beforeAll(() => {
  scratch = makeScratch();
});
afterAll(() => scratch.undo());

async function factsOf(target: string): Promise<StickFacts> {
  const volume = await openVolume(target, 'read');
  await volume.close();
  return volume.facts;
}

let count = 0;
async function image(bytes: number, clusterBytes?: number): Promise<string> {
  const path = join(scratch.path, `stick ${++count}.img`);
  const at = new Date('2026-09-14T06:00:00Z');
  await createStickImage(path, { bytes, fileSystem: 'fat32', partitioned: true, clusterBytes, at });
  return path;
}

const codesOf = (facts: StickFacts, mode: 'recovery' | 'in-os' = 'recovery'): readonly string[] =>
  checkFormat(facts, mode, customaryRules(mode)).map(({ code }) => code);

describe('a volume that a boot loader is to read', () => {
  it('may have clusters of exactly 65,536 bytes, which is where U-Boot ends', async () => {
    const facts = await factsOf(await image(4400 * mib, 65_536));
    expect(facts).toMatchObject({ fileSystem: 'fat32', clusterBytes: 65_536 });
    expect(codesOf(facts)).toEqual([]);
    expect(codesOf({ ...facts, clusterBytes: 65_537 })).toEqual(['stick/cluster-too-large']);
  });

  it('stands alone in its table: an empty container is one more than a boot loader may meet', async () => {
    const path = await image(64 * mib);
    expect(codesOf(await factsOf(path))).toEqual([]);
    truncateSync(path, 70 * mib);
    const device = openFileDevice(path, 'write');
    const container = { type: 0x05, start: 65 * mib, bytes: 4 * mib };
    device.writeSectors(0, masterBootRecord([{ type: 0x0c, start: mib, bytes: 63 * mib }, container]));
    await device.close();
    const facts = await factsOf(path);
    expect(codesOf(facts)).toEqual(['stick/several-partitions']);
    expect(codesOf(facts, 'in-os')).toEqual([]);
  });
});

describe('a mounted stick', () => {
  const stick = recordedDrive('/dev/sdb');

  it('of which nobody sees more than its folder was not looked at, and is not proven', async () => {
    const facts = { ...(await factsOf(scratch.path)), drive: stick, otherVolumes: undefined };
    expect(facts.kind).toBe('folder');
    expect(checkOneVolume(facts)).toMatchObject([{ code: 'stick/rest-not-looked-at' }]);
    const listed = { ...facts, otherVolumes: { from: 'operating-system', volumes: [] } } as const;
    expect(checkOneVolume(listed)).toMatchObject([{ code: 'stick/rest-as-listed', facts: { device: '/dev/sdb' } }]);
    expect(checkOneVolume({ ...listed, otherVolumes: { from: 'sectors', volumes: [] } })).toEqual([]);
  });

  it('is one only where the system says that it is removable and on the USB bus', async () => {
    const facts = await factsOf(scratch.path);
    const codes = (usb: boolean | undefined, removable: boolean | undefined): readonly string[] =>
      checkCondition({ ...facts, readOnly: false, drive: { ...stick, usb, removable } }, false).map(({ code }) => code);
    for (const usb of [true, false, undefined])
      for (const removable of [true, false, undefined])
        expect(codes(usb, removable)).toEqual(usb && removable ? [] : ['stick/not-a-removable-drive']);
    const agreed = checkCondition({ ...facts, readOnly: false, drive: { ...stick, usb: undefined } }, true);
    expect(agreed.map(({ code }) => code)).toEqual(['stick/not-a-removable-drive-agreed']);
  });
});
