import { ToolError } from '../../core/model/tool-error.ts';
import { auditMedium } from '../../core/volume-format/audit/audit-medium.ts';
import { flaw } from '../../core/volume-format/audit/flaw.ts';
import type { MediumFacts } from '../../core/volume-format/audit/medium-facts.ts';
import type { SectorReader } from '../../core/volume-format/audit/sector-reader.ts';
import { openFileDevice } from '../volume/file-device.ts';
import { deviceSectorBytes, type SectorDevice } from '../volume/sector-device.ts';

/**
 * What the sectors of an image file or a raw device say. Throws ToolError `file/not-found`, `file/not-permitted`, `stick/gone`;
 * sectors that cannot be read are a flaw.
 */
export async function auditMediumAt(path: string): Promise<MediumFacts> {
  const device = openFileDevice(path, 'read');
  try {
    return auditDevice(device);
  } finally {
    await device.close();
  }
}

/** The same, of a device that is open already. */
export function auditDevice(device: SectorDevice): MediumFacts {
  const unread: { sectors: number; firstSector: number | undefined } = { sectors: 0, firstSector: undefined };
  const reader: SectorReader = {
    sizeBytes: device.sizeBytes,
    readSectors(first, into) {
      try {
        device.readSectors(first, into);
        return true;
      } catch (error) {
        if (!(error instanceof ToolError) || error.code !== 'stick/read-failed') throw error;
        into.fill(0);
        unread.firstSector ??= first;
        unread.sectors += into.length / deviceSectorBytes;
        return false;
      }
    },
  };
  const facts = auditMedium(reader);
  const { sectors, firstSector } = unread;
  if (firstSector === undefined) return facts;
  return { ...facts, flaws: [flaw('unreadable-sectors', { sectors, firstSector }), ...facts.flaws] };
}
