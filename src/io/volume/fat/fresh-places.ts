import { ToolError } from '../../../core/model/tool-error.ts';
import { FatTable } from '../../../core/volume-format/audit/fat-table.ts';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { FileFinder } from '../../../core/volume-format/file-finder.ts';
import { placeProblems } from '../../digest/digest.ts';
import { endsEarly } from '../file-device.ts';
import { toDeviceError } from '../os-error.ts';
import type { FreshDevice, SectorDevice } from '../sector-device.ts';
import type { FileParts, FreshPlace, VolumeReader } from '../volume.ts';
import { readPart, readSpans } from './read-spans.ts';
import { toSectorReader } from './to-sector-reader.ts';

/** Chains are followed from their start to their end, so few pages of the table are needed at a time. */
const tablePages = 16;

/** A FAT volume on its medium, as the places of its files need it. */
export interface VolumeOnMedium {
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
