import { setImmediate as yieldToLoop } from 'node:timers/promises';
import type { Span } from '../../../core/volume-format/file-finder.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';

const chunkBytes = 2 ** 20;

/** The bytes of SPANS, each of which begins with a cluster of the volume that DEVICE shows. */
export async function* readSpans(device: SectorDevice, spans: readonly Span[]): AsyncGenerator<Uint8Array> {
  const longest = spans.reduce((most, { bytes }) => Math.max(most, bytes), 0);
  const chunk = new Uint8Array(Math.min(chunkBytes, wholeSectors(longest)));
  for (const { at, bytes } of spans) {
    for (let done = 0; done < bytes; done += chunk.length) {
      const wanted = Math.min(chunk.length, bytes - done);
      device.readSectors((at + done) / deviceSectorBytes, chunk.subarray(0, wholeSectors(wanted)));
      yield chunk.subarray(0, wanted);
      await yieldToLoop();
    }
  }
}

/** Fills INTO with the bytes at POSITION of what SPANS hold; returns how many came, fewer only at their end. */
export function readPart(device: SectorDevice, spans: readonly Span[], into: Uint8Array, position: number): number {
  let filled = 0;
  let start = 0;
  for (const { at, bytes } of spans) {
    const from = Math.max(position + filled - start, 0);
    const wanted = Math.min(into.length - filled, bytes - from);
    start += bytes;
    if (wanted <= 0) continue;
    const first = Math.floor((at + from) / deviceSectorBytes);
    const skipped = at + from - first * deviceSectorBytes;
    const sectors = new Uint8Array(wholeSectors(skipped + wanted));
    device.readSectors(first, sectors);
    into.set(sectors.subarray(skipped, skipped + wanted), filled);
    filled += wanted;
  }
  return filled;
}

const wholeSectors = (bytes: number): number => Math.ceil(bytes / deviceSectorBytes) * deviceSectorBytes;
