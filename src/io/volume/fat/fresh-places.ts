import { setImmediate as yieldToLoop } from 'node:timers/promises';
import { ToolError } from '../../../core/model/tool-error.ts';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { FatTable } from '../../../core/volume-format/fat-table.ts';
import { FileFinder, type Span } from '../../../core/volume-format/file-finder.ts';
import { placeProblems } from '../../digest/digest.ts';
import { endsEarly } from '../file-device.ts';
import { toDeviceError } from '../os-error.ts';
import { deviceSectorBytes, type FreshDevice, type SectorDevice } from '../sector-device.ts';
import type { FileParts, FreshPlace, VolumeReader } from '../volume.ts';
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

/** Says where the files of a FAT volume lie on its medium, from what the medium holds and nothing that was kept in memory. */
export class FreshPlaces {
  readonly #volume: VolumeOnMedium;
  readonly #fresh: FreshDevice;
  #finder: FileFinder | undefined;
  #seen = 0;

  constructor(volume: VolumeOnMedium) {
    this.#volume = volume;
    this.#fresh = volume.openFresh();
  }

  /** In the order of PATHS; undefined where there is no such file, where it is damaged or where the medium does not say. */
  of(paths: readonly string[]): readonly (FreshPlace | undefined)[] {
    const { way, readBack } = this.#fresh;
    if (way === undefined) return paths.map(() => undefined);
    const explain = async (error: unknown): Promise<Error> => explained(error, way.path);
    return paths.map((path) => {
      const spans = this.#spans(path)?.map(({ at, bytes }) => ({ at: this.#volume.startByte + at, bytes }));
      return spans && { ...way, spans, readBack, explain };
    });
  }

  /** Reads FILE from here; undefined where `of` says nothing about it. */
  open(path: string): VolumeReader | undefined {
    const spans = this.#spans(path);
    if (spans === undefined) return undefined;
    const device = this.#volume.view(this.#fresh.device);
    return { readBack: this.#fresh.readBack, chunks: () => readSpans(device, spans) };
  }

  /** Reads parts of FILE from here; undefined where `of` says nothing about it. */
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

const explained = (error: unknown, path: string): Error =>
  error instanceof Error && 'code' in error && error.code === placeProblems.mediumEnds
    ? endsEarly('read', path)
    : toDeviceError(error, 'read', path);

const chunkBytes = 2 ** 20;

/** The bytes of SPANS, each of which begins with a cluster of the volume that DEVICE shows. */
async function* readSpans(device: SectorDevice, spans: readonly Span[]): AsyncGenerator<Uint8Array> {
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
