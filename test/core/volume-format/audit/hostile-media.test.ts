import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { auditMedium } from '../../../../src/core/volume-format/audit/audit-medium.ts';
import type { SectorReader } from '../../../../src/core/volume-format/sector-reader.ts';
import { layOutStick } from '../../../../src/io/format/lay-out-stick.ts';
import { readerOf } from '../../../fixtures/media/reader-of.ts';

const mib = 2 ** 20;

/** A formatted medium as the few sectors that are not zero. */
function sparseStick(bytes: number, partitioned: boolean): Map<number, Uint8Array> {
  const stick = layOutStick('stick', { bytes, fileSystem: 'fat32', partitioned, volumeSerial: 1, at: new Date(0) });
  return new Map(stick.writes.map(({ sector, bytes: sectorBytes }) => [sector, Uint8Array.from(sectorBytes)]));
}

/** Counts what an audit reads. */
function countingReader(sectors: ReadonlyMap<number, Uint8Array>, sizeBytes: number) {
  const count = { sectors: 0 };
  const reader: SectorReader = {
    sizeBytes,
    readSectors(first, into) {
      count.sectors += into.length / 512;
      into.fill(0);
      for (let at = 0; at < into.length; at += 512) {
        const sector = sectors.get(first + at / 512);
        if (sector !== undefined) into.set(sector, at);
      }
      return first * 512 + into.length <= sizeBytes;
    },
  };
  return { reader, count };
}

describe('an audit', () => {
  it('of a sound 64 GB stick reads its tables once and hardly more', () => {
    const { reader, count } = countingReader(sparseStick(64e9, true), 64e9);
    const facts = auditMedium(reader);
    expect(facts.flaws).toEqual([]);
    expect(facts.volumes[0]).toMatchObject({
      fileSystem: 'fat32',
      clusters: 1_952_613,
      freeClusters: 1_952_612,
      flaws: [],
    });
    const tables = Math.ceil(((1_952_613 + 2) * 4) / 512) * 2;
    expect(count.sectors).toBeLessThan(tables + 1000);
  });

  it('says of any bytes something, and never fails', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 0, maxLength: 4096 }), (bytes) => {
        const facts = auditMedium(readerOf(bytes, 2 * mib));
        expect(facts.mediumBytes).toBe(2 * mib);
      }),
      { numRuns: 300, seed: 20260914 },
    );
  });

  it('of a boot sector with any numbers in it is bounded', () => {
    const sound = sparseStick(40 * mib, false);
    const field = fc.record({ at: fc.integer({ min: 11, max: 66 }), value: fc.integer({ min: 0, max: 255 }) });
    fc.assert(
      fc.property(fc.array(field, { minLength: 1, maxLength: 8 }), (fields) => {
        const sectors = new Map(sound);
        const boot = Uint8Array.from(sound.get(0) ?? []);
        for (const { at, value } of fields) boot[at] = value;
        sectors.set(0, boot);
        const { reader, count } = countingReader(sectors, 40 * mib);
        auditMedium(reader);
        expect(count.sectors).toBeLessThan((3 * 40 * mib) / 512);
      }),
      { numRuns: 300, seed: 20260914 },
    );
  });

  it('of folders that hold each other ends, and says so', () => {
    const sectors = sparseStick(40 * mib, false);
    const stick = layOutStick('stick', { bytes: 40 * mib, fileSystem: 'fat32', partitioned: false });
    const { dataFirstSector, reservedSectors, clusterSectors } = stick.layout;
    expect(clusterSectors).toBe(1);
    // Sixteen folders in the root, all of which start at the root's own cluster or at one another's.
    const root = new Uint8Array(512);
    const view = new DataView(root.buffer);
    for (let slot = 0; slot < 16; slot++) {
      root.set(Buffer.from(`F${String(slot).padStart(2, '0')}        `), slot * 32);
      root[slot * 32 + 11] = 0x10;
      view.setUint16(slot * 32 + 26, 2 + (slot % 3), true);
    }
    sectors.set(dataFirstSector, root);
    sectors.set(dataFirstSector + 1, root);
    const fat = Uint8Array.from(sectors.get(reservedSectors) ?? []);
    new DataView(fat.buffer).setUint32(12, 4, true); // cluster 3 leads to 4, and 4 to 3
    new DataView(fat.buffer).setUint32(16, 3, true);
    sectors.set(reservedSectors, fat);
    const kinds = auditMedium(countingReader(sectors, 40 * mib).reader).volumes[0]?.flaws.map(({ kind }) => kind);
    expect(kinds).toEqual(
      expect.arrayContaining(['cross-linked', 'chain-loops', 'folder-damaged', 'fat-copies-differ']),
    );
  });

  it('names sectors that the medium does not give', () => {
    const { reader } = countingReader(sparseStick(40 * mib, true), 40 * mib);
    const facts = auditMedium({ ...reader, readSectors: () => false });
    expect(facts.flaws.map(({ kind }) => kind)).toEqual(['nothing-recognised']);
  });
});
