import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';
import { copyOverlap } from '../write-behind.ts';

const blockBytes = 4096;
const blockSectors = blockBytes / deviceSectorBytes;
const keptBlocks = 128;

interface Block {
  readonly bytes: Uint8Array;
  /** Asked for again since it was last spared. */
  wanted: boolean;
}

/**
 * FatFs walks folders and tables sector by sector, again for every name. This answers from blocks that were read from
 * the device before, and is kept right by every write of the same session; `clear` makes the device the only source
 * again.
 */
export class BlockCache {
  readonly #device: SectorDevice;
  readonly #blocks = new Map<number, Block>();

  constructor(device: SectorDevice) {
    this.#device = device;
  }

  /** As the device's `readSectors`; a read of more than one block goes past the cache. */
  read(first: number, into: Uint8Array): void {
    const index = Math.floor(first / blockSectors);
    const skip = (first - index * blockSectors) * deviceSectorBytes;
    const block = skip + into.length <= blockBytes ? this.#block(index) : undefined;
    if (block === undefined || skip + into.length > block.length) this.#device.readSectors(first, into);
    else into.set(block.subarray(skip, skip + into.length));
  }

  /** As the device's `writeSectors`; where that throws, what is kept stays as it was. */
  write(first: number, from: Uint8Array): void {
    this.#device.writeSectors(first, from);
    const start = Math.floor(first / blockSectors);
    const end = Math.ceil((first + from.length / deviceSectorBytes) / blockSectors);
    if (end - start > this.#blocks.size) {
      for (const [index, block] of this.#blocks) copyOverlap(first, from, index * blockSectors, block.bytes);
    } else {
      for (let index = start; index < end; index++) {
        const block = this.#blocks.get(index);
        if (block !== undefined) copyOverlap(first, from, index * blockSectors, block.bytes);
      }
    }
  }

  clear(): void {
    this.#blocks.clear();
  }

  #block(index: number): Uint8Array {
    const kept = this.#blocks.get(index);
    if (kept !== undefined) {
      kept.wanted = true;
      return kept.bytes;
    }
    const at = index * blockBytes;
    const left = this.#device.sizeBytes - at;
    const bytes = new Uint8Array(Math.min(blockBytes, left - (left % deviceSectorBytes)));
    this.#device.readSectors(index * blockSectors, bytes);
    this.#makeRoom();
    this.#blocks.set(index, { bytes, wanted: false });
    return bytes;
  }

  /** The oldest goes that nobody asked for again; the others get a second chance. */
  #makeRoom(): void {
    for (const [index, block] of this.#blocks) {
      if (this.#blocks.size < keptBlocks) return;
      this.#blocks.delete(index);
      if (!block.wanted) continue;
      block.wanted = false;
      this.#blocks.set(index, block);
    }
  }
}
