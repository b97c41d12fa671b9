import { describe, expect, it } from 'vitest';
import { checkProof, type ProofFacts } from '../../../src/core/checks/medium/check-proof.ts';
import { verdictOf } from '../../../src/core/findings/finding.ts';
import { canGoOn, type ProofState, proveDevice, startProof } from '../../../src/io/prove/prove-device.ts';
import { type Behaviour, freshViewOf, simulateStick } from '../../fixtures/media/simulated-stick.ts';

const mib = 2 ** 20;
const seed = '00112233445566ff';
const stated = 32 * mib + 512 * 3; // not a whole number of areas

async function prove(behaviour: Behaviour): Promise<ProofFacts> {
  const device = simulateStick(stated, behaviour);
  const running = { signal: new AbortController().signal, heard: () => {}, keep: async () => {} };
  return proveDevice(device, freshViewOf(device), startProof(seed, stated), running);
}

const codesOf = (facts: ProofFacts): readonly string[] => checkProof('stick', facts).map(({ code }) => code);

describe('proving a whole stick', () => {
  it('passes an honest one, without a finding', async () => {
    const facts = await prove({ kind: 'honest' });
    expect(facts).toMatchObject({ finished: true, testedBytes: stated, readBack: 'medium' });
    expect(verdictOf(checkProof('stick', facts))).toBe('ready');
    expect(codesOf(facts)).toEqual([]);
  });

  it('finds one that wraps at a quarter of its size, and its true size', async () => {
    const facts = await prove({ kind: 'wraps', realBytes: 8 * mib });
    expect(codesOf(facts)).toEqual(['medium/capacity-false']);
    expect(facts.wraps).toEqual({ trueBytes: 8 * mib });
  });

  it.each([0x00, 0xff])('finds one that drops writes past a quarter and reads %i there', async (fill) => {
    const facts = await prove({ kind: 'drops', realBytes: 8 * mib, fill });
    expect(codesOf(facts)).toEqual(['medium/capacity-false']);
    expect(facts.endsAt).toBe(8 * mib);
  });

  it('finds single rotten bits, and where the first is', async () => {
    const facts = await prove({ kind: 'rots', sectors: new Set([5000, 5001, 40_000]) });
    expect(codesOf(facts)).toEqual(['medium/areas-bad']);
    expect(facts.bad).toEqual({ areas: 2, bytes: 3 * 512, firstByte: 5000 * 512 });
  });

  it('finds places that answer differently each time', async () => {
    const facts = await prove({ kind: 'flickers', sectors: new Set([7000]) });
    expect(codesOf(facts)).toEqual(['medium/areas-bad', 'medium/areas-unstable']);
    expect(facts.unstable?.areas).toBe(1);
  });

  it('says where it stopped, and goes on from there on the same stick only', async () => {
    const device = simulateStick(stated, { kind: 'rots', sectors: new Set([100]) });
    let kept: ProofState | undefined;
    const interrupted = async (state: ProofState, stopAfter: number): Promise<ProofFacts> => {
      const controller = new AbortController();
      let heard = 0;
      return proveDevice(device, freshViewOf(device), state, {
        signal: controller.signal,
        heard: () => {
          if (++heard === stopAfter) controller.abort();
        },
        keep: async (now) => {
          kept = JSON.parse(JSON.stringify(now)) as ProofState;
        },
      });
    };
    const writing = await interrupted(startProof(seed, stated), 10);
    expect(writing).toMatchObject({ finished: false, testedBytes: 0 });
    expect(codesOf(writing)).toEqual(['medium/proof-unfinished']);
    expect(kept).toMatchObject({ phase: 'writing', areas: 10 });
    if (kept === undefined) throw new Error('nothing was kept');
    expect(canGoOn(device, kept)).toBe(true);
    expect(canGoOn(simulateStick(stated, { kind: 'honest' }), kept)).toBe(false);

    await interrupted(kept, 23 + 5); // the rest of the writing, and five areas of the reading
    expect(kept).toMatchObject({ phase: 'reading-back', areas: 5 });
    const facts = await interrupted(kept, Number.POSITIVE_INFINITY);
    expect(facts).toMatchObject({ finished: true, testedBytes: stated, bad: { areas: 1, firstByte: 51_200 } });
  });
});
