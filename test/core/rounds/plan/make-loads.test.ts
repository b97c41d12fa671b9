import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readPackageName } from '../../../../src/core/label/read-label.ts';
import type { Mode } from '../../../../src/core/model/mode.ts';
import { makeLoads } from '../../../../src/core/rounds/plan/make-loads.ts';
import type { PlannedRoom } from '../../../../src/core/rounds/plan/plan-rooms.ts';
import { roomOf } from '../../../fixtures/rooms.ts';
import { shelve } from '../../../fixtures/shelf/shelved.ts';
import { sampleFamilies } from '../../label/families.ts';

const families = await sampleFamilies();
const pack = (name: string, content: string) => ({
  shelved: shelve(name, families, { sha256: content.repeat(64) }),
  package: readPackageName(name, families),
  build: undefined,
});
/** The first two are one content for one variant; the third is the same content under the name of another variant. */
const packages = [
  pack('reed.746_5B_second_K2.zip', 'a'),
  pack('reed.746_5b_second_k2.zip', 'a'),
  pack('reed.746_5B_second_K3.zip', 'a'),
  pack('reed.1717_5B_second_K2.zip', 'b'),
  pack('reed.702_8S_third_home.zip', 'c'),
];

interface Sketch {
  readonly mode: Mode;
  readonly wipes: boolean;
  readonly packages: readonly number[];
}

function roomFrom({ mode, wipes, packages: wanted }: Sketch, at: number): PlannedRoom {
  const steps = wanted.flatMap((number) => {
    const one = packages[number];
    return one === undefined ? [] : [{ package: one, build: one.package.readings[0]?.build ?? '', because: undefined }];
  });
  const room = roomOf({ room: `R${at}`, label: 'K2-second 75/5B', row: at + 2 });
  const family = families.find((one) => one.family === 'sedge');
  const base = { room, state: 'update', mode, wipes, approval: 'M. Aldane', family, target: undefined } as const;
  return { ...base, steps, findings: [], way: undefined };
}

const sketches = fc.array(
  fc.record({
    mode: fc.constantFrom<Mode>('in-os', 'recovery'),
    wipes: fc.boolean(),
    packages: fc.subarray([0, 1, 2, 3, 4], { minLength: 1, maxLength: 2 }),
  }),
  { minLength: 1, maxLength: 4 },
);

/** What one stick may carry: one package for one variant, in one mode, for rooms that are all wiped or none. */
function mayShare(errands: readonly { room: PlannedRoom; at: number }[]): boolean {
  const said = errands.map(({ room, at }) => {
    const { shelved, package: named } = room.steps[at]?.package ?? {};
    const parts = Object.entries(named?.readings[0]?.parts ?? {}).map(([part, value]) =>
      `${part}=${value}`.toUpperCase(),
    );
    return [shelved?.record.sha256, parts.join(), room.mode, room.wipes].join('|');
  });
  return new Set(said).size === 1;
}

/** Every way to share things out among heaps, smallest number of heaps that is allowed. */
function fewestHeaps<Item>(items: readonly Item[], isAllowed: (heap: readonly Item[]) => boolean): number {
  const place = (at: number, heaps: readonly (readonly Item[])[]): number => {
    const item = items[at];
    if (item === undefined) return heaps.every(isAllowed) ? heaps.length : Number.POSITIVE_INFINITY;
    const beside = heaps.map((heap, number) => place(at + 1, heaps.with(number, [...heap, item])));
    return Math.min(place(at + 1, [...heaps, [item]]), ...beside);
  };
  return place(0, []);
}

describe('loads', () => {
  it('are the fewest sticks that do, against every way to share the visits out among sticks', () => {
    fc.assert(
      fc.property(sketches, (all) => {
        const rooms = all.map(roomFrom);
        const errands = rooms.flatMap((room) => room.steps.map((_, at) => ({ room, at })));
        fc.pre(errands.length <= 7);
        const { loads } = makeLoads(rooms);
        expect(loads).toHaveLength(fewestHeaps(errands, mayShare));
      }),
      { numRuns: 150 },
    );
  });

  it('give every step of every room its stick, and never mix modes or what wipes with what does not', () => {
    fc.assert(
      fc.property(sketches, (all) => {
        const rooms = all.map(roomFrom);
        const { loads, loadsOf } = makeLoads(rooms);
        for (const room of rooms) {
          const own = loadsOf(room);
          expect(own.map((load) => load.package.shelved.record.sha256)).toEqual(
            room.steps.map((step) => step.package.shelved.record.sha256),
          );
          for (const load of own) expect([load.mode, load.wipes]).toEqual([room.mode, room.wipes]);
          for (const load of own) expect(load.rooms).toContain(room);
        }
        const order = loads.map(({ wipes }) => wipes);
        expect(order).toEqual(order.toSorted((a, b) => Number(a) - Number(b)));
      }),
      { numRuns: 100 },
    );
  });
});
