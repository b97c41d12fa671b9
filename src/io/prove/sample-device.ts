import { setImmediate as yieldToLoop } from 'node:timers/promises';
import type { ProofFacts } from '../../core/checks/medium/check-proof.ts';
import { deviceSectorBytes, type FreshDevice, type SectorDevice } from '../volume/sector-device.ts';
import { areaBytes, type ProofRunning, rate, readArea } from './prove-device.ts';
import { emptyTally, makePattern, readTally } from './tally.ts';

/**
 * Written at the start of each chosen area. Some hundreds of these are more than a controller's own memory holds
 * (common practice, no source).
 */
const sampleBytes = 65_536;
const randomPlaces = 100;
/** The share of bad places for which the chance to miss them is stated. */
const badShare = 0.1;

/**
 * Areas (of 1 MiB) to look at. Every distance between two areas occurs between two chosen ones: one run of `step` areas
 * at the start, and every `step`-th area up to the end (a difference cover, as in baby-step giant-step). So whatever
 * whole number of MiB a false stick wraps at, two chosen places fall on one another. A hundred more are drawn at
 * random.
 */
export function choosePlaces(areas: number, random: (below: number) => number): readonly number[] {
  const step = Math.max(1, Math.ceil(Math.sqrt(areas)));
  const chosen = new Set<number>();
  for (let area = 0; area < Math.min(step, areas); area++) chosen.add(area);
  for (let area = step - 1; area < areas; area += step) chosen.add(area);
  chosen.add(areas - 1);
  for (let draw = 0; draw < randomPlaces; draw++) chosen.add(random(areas));
  const places = [...chosen];
  // Shuffled (Fisher and Yates), so that neither place of a colliding pair is always the later one.
  for (let last = places.length - 1; last > 0; last--) {
    const other = random(last + 1);
    [places[last], places[other]] = [places[other] ?? 0, places[last] ?? 0];
  }
  return places;
}

/** Each of the random places lies in a good part with the chance of its share. */
export const missShareOf = (places: number): number => (1 - badShare) ** places;

export interface SampleRunning extends Pick<ProofRunning, 'signal' | 'heard'> {
  readonly seed: string;
  readonly random: (below: number) => number;
}

/** Writes the pattern at chosen places, flushes, and reads them back. */
export async function sampleDevice(
  device: SectorDevice,
  openFresh: () => FreshDevice,
  { seed, random, signal, heard }: SampleRunning,
): Promise<ProofFacts> {
  const pattern = makePattern(Buffer.from(seed, 'hex'));
  const areas = Math.max(1, Math.floor(device.sizeBytes / areaBytes));
  const places = choosePlaces(areas, random);
  const length = Math.min(sampleBytes, device.sizeBytes - (device.sizeBytes % deviceSectorBytes));
  const buffers = [new Uint8Array(length), new Uint8Array(length), new Uint8Array(length)] as const;
  const totalBytes = places.length * length;
  let writtenBytes = 0;
  let testedBytes = 0;
  const startedMs = performance.now();
  for (const [index, place] of places.entries()) {
    if (signal.aborted) break;
    const first = (place * areaBytes) / deviceSectorBytes;
    pattern.fill(first, buffers[0]);
    device.writeSectors(first, buffers[0]);
    writtenBytes += length;
    heard('writing', writtenBytes, totalBytes);
    if (index % 64 === 63) await device.flush();
  }
  await device.flush();
  const writtenMs = performance.now();
  const tally = emptyTally();
  const fresh = openFresh();
  try {
    for (const [index, place] of places.entries()) {
      if (signal.aborted) break;
      readArea(fresh.device, pattern, (place * areaBytes) / deviceSectorBytes, tally, buffers);
      testedBytes += length;
      heard('reading-back', testedBytes, totalBytes);
      if (index % 64 === 63) await yieldToLoop();
    }
  } finally {
    await fresh.device.close();
  }
  const read = readTally(tally, device.sizeBytes / deviceSectorBytes);
  return {
    how: 'sample',
    statedBytes: device.sizeBytes,
    writtenBytes,
    testedBytes,
    finished: !signal.aborted,
    readBack: fresh.readBack,
    ...read,
    // How far the places fell apart is all that a sample tells of the true size.
    wraps: read.wraps === undefined ? undefined : { trueBytes: tally.wrapSectors * deviceSectorBytes },
    endsAt: cutAt(places, tally.firstBad, read.wraps !== undefined, tally.badSectors, length),
    sample: {
      areas: places.length,
      areaBytes: length,
      missShare: missShareOf(randomPlaces),
      cutBytes: Math.ceil(Math.sqrt(areas)) * areaBytes,
    },
    writeBytesPerSecond: rate(writtenBytes, writtenMs - startedMs),
    readBytesPerSecond: rate(testedBytes, performance.now() - writtenMs),
  };
}

/** The first bad place, where it and every place behind it is bad. */
function cutAt(
  places: readonly number[],
  firstBad: number,
  wraps: boolean,
  badSectors: number,
  length: number,
): number | undefined {
  if (firstBad < 0 || wraps) return undefined;
  const from = (firstBad * deviceSectorBytes) / areaBytes;
  const behind = places.filter((place) => place >= Math.floor(from)).length;
  return behind > 1 && behind * (length / deviceSectorBytes) === badSectors ? firstBad * deviceSectorBytes : undefined;
}
