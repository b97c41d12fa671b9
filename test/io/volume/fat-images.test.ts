import { join } from 'node:path';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import type { FatShape } from '../../fixtures/volumes/format-fat.ts';
import { makeFatImage, makeScratch } from '../../fixtures/volumes/scratch.ts';
import type { Stand, Traits } from './conformance/stand.ts';
import { describeConformance } from './conformance.ts';

const mebibyte = 2 ** 20;
const traits: Traits = {
  ignoresCase: true,
  keepsOrder: true,
  refusesFatNames: true,
  fills: true,
};

const shapes: readonly { name: string; bytes: number; shape: FatShape }[] = [
  { name: 'FAT12 image', bytes: 12 * mebibyte, shape: { kind: 'fat12', clusterBytes: 4096 } },
  { name: 'FAT16 image', bytes: 16 * mebibyte, shape: { kind: 'fat16', clusterBytes: 2048 } },
  { name: 'FAT16 image behind an MBR', bytes: 16 * mebibyte, shape: { kind: 'fat16', partitioned: true } },
  { name: 'FAT32 image', bytes: 40 * mebibyte, shape: { kind: 'fat32', clusterBytes: 512 } },
  { name: 'FAT32 image behind an MBR', bytes: 41 * mebibyte, shape: { kind: 'fat32', partitioned: true } },
];

for (const { name, bytes, shape } of shapes) {
  describeConformance(name, traits, async (): Promise<Stand> => {
    const scratch = makeScratch();
    const image = await makeFatImage(join(scratch.path, 'stick image.img'), bytes, shape);
    return { open: (access) => openVolume(image, access), undo: scratch.undo };
  });
}
