import { setImmediate as yieldToLoop } from 'node:timers/promises';
import { ToolError } from '../../../core/model/tool-error.ts';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { FatTable } from '../../../core/volume-format/fat-table.ts';
import { FileFinder, type Span } from '../../../core/volume-format/file-finder.ts';
import { type AlignedRead, BlockPool, readAhead, readsOf } from '../read-ahead.ts';
import { deviceSectorBytes, directAlignment, type FreshDevice, type SectorDevice } from '../sector-device.ts';
import type { FileParts, VolumeReader } from '../volume.ts';
import { toSectorReader } from './read-fat-facts.ts';

/** Chains are followed from their start to their end, so few pages of the table are needed at a time. */
const tablePages = 16;

/** A FAT volume on its medium, as the places of its files need it. */
interface VolumeOnMedium {
  /** Opens the medium a second time, past the first one's memory. */
  readonly openFresh: () => FreshDevice;
  readonly view: (whole: SectorDevice) => SectorDevice;
  readonly geometry: FatGeometry;
  /** Where the volume starts on the medium, in bytes. */
  readonly startByte: number;
  /** How often the medium has been written. */
  readonly writes: () => number;
}

/**
 * Says where the files of a FAT volume lie on its medium, from what the medium holds and nothing that was kept in
 * memory.
 */
export class FreshPlaces {
  readonly #volume: VolumeOnMedium;
  readonly #fresh: FreshDevice;
  readonly #blocks = new BlockPool();
  #finder: FileFinder | undefined;
  #seen = 0;

  constructor(volume: VolumeOnMedium) {
    this.#volume = volume;
    this.#fresh = volume.openFresh();
  }

  /** Undefined where there is no such file, where it is damaged or where the medium does not say. */
  open(path: string): VolumeReader | undefined {
    const spans = this.#spans(path);
    if (spans === undefined) return undefined;
    const places = spans.map(({ at, bytes }) => ({ at: this.#volume.startByte + at, bytes }));
    return {
      readBack: this.#fresh.readBack,
      chunks: () => readAhead(readsOf(places, directAlignment), (into, read) => this.#fill(into, read), this.#blocks),
    };
  }

  /** Reads parts of FILE from here; undefined as with `open`. */
  parts(path: string): FileParts | undefined {
    const spans = this.#spans(path);
    if (spans === undefined) return undefined;
    const device = this.#volume.view(this.#fresh.device);
    return {
      read: async (buffer, offset, length, position) => ({
        bytesRead: readPart(device, spans, buffer.subarray(offset, offset + length), position),
      }),
      close: async () => {},
    };
  }

  async close(): Promise<void> {
    await this.#fresh.device.close();
  }

  async #fill(into: Uint8Array, { at, skipped, wanted }: AlignedRead): Promise<number> {
    const { device, readAside } = this.#fresh;
    if (readAside !== undefined) return await readAside(at, into, skipped + wanted);
    const there = into.subarray(0, Math.min(into.length, device.sizeBytes - at));
    device.readSectors(at / deviceSectorBytes, there);
    await yieldToLoop();
    return there.length;
  }

  #spans(path: string): ReturnType<FileFinder['spans']> {
    try {
      return this.#finderNow().spans(path);
    } catch (error) {
      if (error instanceof ToolError) return undefined; // whoever opens it hears why
      throw error;
    }
  }

  #finderNow(): FileFinder {
    const { view, geometry, writes } = this.#volume;
    if (this.#finder !== undefined && this.#seen === writes()) return this.#finder;
    this.#seen = writes();
    const reader = toSectorReader(view(this.#fresh.device));
    this.#finder = new FileFinder({ reader, geometry, table: new FatTable(reader, geometry, 0, tablePages) });
    return this.#finder;
  }
}

/** Fills INTO with the bytes at POSITION of what SPANS hold; returns how many came, fewer only at their end. */
function readPart(device: SectorDevice, spans: readonly Span[], into: Uint8Array, position: number): number {
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
