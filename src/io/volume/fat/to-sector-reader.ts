import type { SectorReader } from '../../../core/volume-format/audit/sector-reader.ts';
import type { SectorDevice } from '../sector-device.ts';

/** A device as the rules about FAT see it; what cannot be read is thrown as the device throws it. */
export const toSectorReader = (device: SectorDevice): SectorReader => ({
  sizeBytes: device.sizeBytes,
  readSectors(first, into) {
    device.readSectors(first, into);
    return true;
  },
});
