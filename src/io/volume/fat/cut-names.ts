import { foldName } from '../../../core/volume-format/fat-name.ts';
import type { CutWork } from '../../../core/volume-format/find-cut-names.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';

/** Names that a cut left behind: not seen by anybody, and taken out before the first change. */
export class CutNames {
  readonly #device: SectorDevice;
  readonly #find: () => CutWork;
  #found: CutWork | undefined;

  /** DEVICE starts at the volume. They are looked for once, since nothing that is done here leaves any. */
  constructor(device: SectorDevice, find: () => CutWork) {
    this.#device = device;
    this.#find = find;
  }

  /** Tells their paths from all others, in whatever case. */
  test(): (path: string) => boolean {
    const paths = new Set(this.#all().names.map(({ path }) => path));
    return (path) => paths.has(foldName(path));
  }

  /** Takes them out of their folders, and says whether there were any. Their clusters stay: another name may have them. */
  drop(): boolean {
    const slots = this.#all().names.flatMap(({ slotsAt }) => slotsAt);
    this.#found = { ...this.#all(), names: [] };
    const sector = new Uint8Array(deviceSectorBytes);
    for (const at of slots) {
      const first = Math.floor(at / deviceSectorBytes);
      this.#device.readSectors(first, sector);
      sector[at % deviceSectorBytes] = 0xe5; // a free slot (FAT specification, section 6)
      this.#device.writeSectors(first, sector);
    }
    return slots.length > 0;
  }

  /** Clusters that the file at PATH held beyond its length, or lacked, when the volume was opened. */
  heldBy(path: string): number {
    return this.#all().held.get(foldName(path)) ?? 0;
  }

  #all(): CutWork {
    this.#found ??= this.#find();
    return this.#found;
  }
}
