import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { WriteBehind } from '../../../src/io/volume/write-behind.ts';
import { MemoryDevice } from '../../fixtures/volumes/memory-device.ts';
import { behind, nextTurn } from '../../fixtures/volumes/open-memory.ts';

const sectors = 64;
const filled = (count: number, value: number): Uint8Array => new Uint8Array(count * 512).fill(value);

describe('a device that writes behind', () => {
  it('answers at every moment as one that writes at once, and leaves the same medium', async () => {
    const step = fc.oneof(
      fc.record({
        kind: fc.constant('write' as const),
        first: fc.nat(sectors - 9),
        count: fc.integer({ min: 1, max: 8 }),
      }),
      fc.record({
        kind: fc.constant('read' as const),
        first: fc.nat(sectors - 9),
        count: fc.integer({ min: 1, max: 8 }),
      }),
      fc.record({
        kind: fc.constantFrom('wait' as const, 'flush' as const),
        first: fc.constant(0),
        count: fc.constant(0),
      }),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(step, { maxLength: 40 }), fc.constantFrom(0, 1000), async (steps, quickMs) => {
        const [late, atOnce] = [new MemoryDevice(sectors * 512), new MemoryDevice(sectors * 512)];
        const device = behind(late, 2048, quickMs);
        for (const [index, { kind, first, count }] of steps.entries()) {
          if (kind === 'wait') await nextTurn();
          else if (kind === 'flush') await device.flush();
          else if (kind === 'write') {
            for (const one of [device, atOnce]) one.writeSectors(first, filled(count, index + 1));
          } else {
            const [got, expected] = [filled(count, 0), filled(count, 0)];
            device.readSectors(first, got);
            atOnce.readSectors(first, expected);
            expect(got).toEqual(expected);
          }
        }
        await device.flush();
        expect(late.bytes(0, sectors * 512)).toEqual(atOnce.bytes(0, sectors * 512));
      }),
    );
  });

  it('carries out no write after one that failed, and tells it once and again', async () => {
    const medium = new MemoryDevice(sectors * 512);
    const fault = new Error('the third write');
    const device = new WriteBehind(
      medium,
      async (first, from) => {
        await nextTurn();
        if (first === 2) throw fault;
        medium.writeSectors(first, from);
      },
      0,
    );
    for (const first of [0, 1, 2, 3, 4]) device.writeSectors(first, filled(1, 7));
    await expect(device.flush()).rejects.toBe(fault);
    expect(() => device.writeSectors(5, filled(1, 7))).toThrow(fault);
    await expect(device.catchUp(0)).rejects.toBe(fault);
    await device.close();
    expect([0, 1, 2, 3, 4, 5].map((sector) => medium.bytes(sector * 512, 1)[0])).toEqual([7, 7, 0, 0, 0, 0]);
  });

  it('hands over small writes as well where they take their time, and keeps their order', async () => {
    const medium = new MemoryDevice(sectors * 512);
    const order: number[] = [];
    const device = new WriteBehind(
      medium,
      async (first, from) => {
        await nextTurn();
        order.push(first);
        medium.writeSectors(first, from);
      },
      4096,
      0,
    );
    for (const first of [9, 3, 7, 5, 3]) device.writeSectors(first, filled(1, first));
    expect(medium.writes).toBe(2); // the two that showed how slow it is
    await device.flush();
    expect(order).toEqual([7, 5, 3]);
    expect([9, 3, 7, 5].map((sector) => medium.bytes(sector * 512, 1)[0])).toEqual([9, 3, 7, 5]);
  });

  it('makes its caller wait where more than a bounded number of bytes is on its way', async () => {
    const mebibyte = 2 ** 20;
    const medium = new MemoryDevice(16 * mebibyte);
    let let1Go: () => void = () => {};
    const held = new Promise<void>((resolve) => {
      let1Go = resolve;
    });
    const device = new WriteBehind(medium, () => held);
    let written = 0;
    const writing = (async () => {
      for (; written < 8; written++) {
        device.writeSectors(written * 2048, filled(2048, 1));
        await device.catchUp(mebibyte);
      }
    })();
    for (let turn = 0; turn < 20; turn++) await nextTurn();
    expect(written).toBe(1);
    let1Go();
    await writing;
    expect(written).toBe(8);
    await device.close();
  });
});
