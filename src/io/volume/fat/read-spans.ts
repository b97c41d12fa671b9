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

const wholeSectors = (bytes: number): number => Math.ceil(bytes / deviceSectorBytes) * deviceSectorBytes;
