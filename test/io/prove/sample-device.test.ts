import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { checkProof } from '../../../src/core/checks/medium/check-proof.ts';
import { choosePlaces, missShareOf, sampleDevice } from '../../../src/io/prove/sample-device.ts';
import { type Behaviour, freshViewOf, simulateStick } from '../../fixtures/media/simulated-stick.ts';

const mib = 2 ** 20;

/** A small generator with a fixed start (xorshift32, Marsaglia 2003), so that a failure can be run again. */
function seeded(start: number): (below: number) => number {
  let state = start | 1;
  return (below) => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) % below;
  };
}

async function sample(statedBytes: number, behaviour: Behaviour, start = 1) {
  const device = simulateStick(statedBytes, behaviour);
  const facts = await sampleDevice(device, freshViewOf(device), {
    seed: '0102030405060708',
    random: seeded(start),
    signal: new AbortController().signal,
    heard: () => {},
  });
  return { facts, codes: checkProof('stick', facts).map(({ code }) => code) };
}

describe('proving a sample of a stick', () => {
  it('meets every wrap of whole MiB: each distance occurs between two chosen places', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 3000 }), fc.integer({ min: 1 }), (areas, start) => {
        const places = new Set(choosePlaces(areas, seeded(start)));
        const distances = new Set<number>();
        for (const one of places) for (const other of places) if (one > other) distances.add(one - other);
        for (let wrap = 1; wrap <= areas * 0.9; wrap++) {
          // A wrap of W also lets places fall together that are twice W apart, and so on.
          let isMet = false;
          for (let times = wrap; times < areas && !isMet; times += wrap) isMet = distances.has(times);
          if (!isMet) return false;
        }
        return true;
      }),
      { numRuns: 60, seed: 20260914 },
    );
  });

  it('finds a stick of 64 GB that wraps at a quarter, and its true size', async () => {
    const { facts, codes } = await sample(64 * 2 ** 30, { kind: 'wraps', realBytes: 16 * 2 ** 30 });
    expect(codes).toEqual(['medium/capacity-false']);
    expect(facts.wraps).toEqual({ trueBytes: 16 * 2 ** 30 });
  });

  it('proves nothing of the medium where the system may have answered from its memory', async () => {
    const device = simulateStick(3 * mib, { kind: 'honest' });
    const facts = await sampleDevice(device, () => ({ device, readBack: 'cache', forget: () => {} }), {
      seed: '0102030405060708',
      random: seeded(1),
      signal: new AbortController().signal,
      heard: () => {},
    });
    const codes = checkProof('stick', facts).map(({ code }) => code);
    expect(codes).toEqual(['medium/proved-by-sample', 'medium/proved-through-cache']);
  });

  it('finds one that drops writes', async () => {
    const { facts, codes } = await sample(16 * 2 ** 30, { kind: 'drops', realBytes: 15 * 2 ** 30, fill: 0xff });
    expect(codes).toEqual(['medium/capacity-false']);
    expect(facts.endsAt).toBeGreaterThanOrEqual(15 * 2 ** 30);
    expect(facts.endsAt).toBeLessThan(15.2 * 2 ** 30);
  });

  it('calls an honest one unproven, and says how sure that is', async () => {
    const { facts, codes } = await sample(8 * 2 ** 30, { kind: 'honest' });
    expect(codes).toEqual(['medium/proved-by-sample']);
    expect(facts.sample?.missShare).toBeCloseTo(0.9 ** 100, 12);
  });

  it('misses a stick with a tenth of its places bad no more often than it says', () => {
    // Only the random places count for the stated chance; with 20 of them instead of 100 the chance is large enough to
    // be seen.
    const random = seeded(77);
    let missed = 0;
    for (let trial = 0; trial < 4000; trial++) {
      let isSeen = false;
      for (let draw = 0; draw < 20; draw++) if (random(1000) < 100) isSeen = true;
      if (!isSeen) missed++;
    }
    expect(missed / 4000).toBeCloseTo(missShareOf(20), 1);
    expect(missShareOf(20)).toBeCloseTo(0.1216, 4); // 0.9 to the power of 20, worked by hand
  });

  it('stopped in the middle, answers nothing about the stick', async () => {
    const device = simulateStick(2 ** 30, { kind: 'honest' });
    const controller = new AbortController();
    const facts = await sampleDevice(device, freshViewOf(device), {
      seed: '0102030405060708',
      random: seeded(1),
      signal: controller.signal,
      heard: () => controller.abort(),
    });
    expect(facts).toMatchObject({ writtenBytes: 65_536, testedBytes: 0 });
    expect(checkProof('stick', facts).map(({ code }) => code)).toEqual(['medium/proof-unfinished']);
  });

  it('works where there is hardly room for a sample', async () => {
    expect((await sample(3 * mib, { kind: 'honest' })).codes).toEqual(['medium/proved-by-sample']);
  });
});
