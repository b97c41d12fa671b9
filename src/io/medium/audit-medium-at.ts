import { statSync } from 'node:fs';
import { realpath } from 'node:fs/promises';
import { relative, sep } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { auditMedium, auditMounted } from '../../core/volume-format/audit/audit-medium.ts';
import { flaw, type MediumFacts } from '../../core/volume-format/audit/flaw.ts';
import type { WaysAsked } from '../../core/volume-format/audit/way-tree.ts';
import type { SectorReader } from '../../core/volume-format/sector-reader.ts';
import { findDriveSource } from '../drives/find-source.ts';
import { syncFolder } from '../files/durable-files.ts';
import { openFileDevice } from '../volume/file-device.ts';
import { deviceSectorBytes, type SectorDevice } from '../volume/sector-device.ts';

/**
 * What the sectors of an image file or a raw device say; of a mounted folder, what `auditMounted` says of those under
 * it, and nothing where they may not be read. Throws ToolError `file/not-found`, `file/not-permitted`,
 * `stick/gone`; sectors that cannot be read are a flaw.
 */
export async function auditMediumAt(path: string, asked?: WaysAsked): Promise<MediumFacts> {
  // Windows has no stat for a raw drive.
  if (!path.startsWith('\\\\.\\') && statSync(path, { throwIfNoEntry: false })?.isDirectory())
    return (await auditUnder(path, asked)) ?? untold;
  const device = openFileDevice(path, 'read');
  try {
    return auditDevice(device, asked);
  } finally {
    await device.close();
  }
}

const untold: MediumFacts = { mediumBytes: 0, table: 'unknown', partitions: [], volumes: [], flaws: [] };

/** Undefined where nobody tells which device is under FOLDER, or where it may not be read. */
async function auditUnder(folder: string, asked: WaysAsked | undefined): Promise<MediumFacts | undefined> {
  const root = await realpath(folder);
  const source = await findDriveSource();
  const mount = await source?.mountOf(root).catch(() => undefined);
  if (mount?.device === undefined) return undefined;
  const below = relative(mount.mountPoint, root).split(sep).join('/');
  const inside = (path: string): string => (below === '' ? path : `${below}/${path}`);
  const [firmware = [], record = []] = [asked?.firmware.map(inside), asked?.record.map(inside)];
  try {
    const device = openFileDevice(mount.device, 'read');
    try {
      const look = (): MediumFacts => auditMounted(tolerant(device).reader, { firmware, record });
      const facts = look();
      const isSound = facts.volumes.every(({ flaws }) => flaws.length === 0);
      // A program behind FUSE writes the entries of a file when it is closed, but exFAT's bitmap when somebody syncs;
      // and between a new name and the end of the old one stands whoever moves a file just now.
      const isAtRest = isSound || mount.readOnly;
      return isAtRest || !(await isSynced(root)) ? facts : look();
    } finally {
      await device.close();
    }
  } catch (error) {
    if (error instanceof ToolError) return undefined;
    throw error;
  }
}

const isSynced = (folder: string): Promise<boolean> =>
  syncFolder(folder).then(
    () => true,
    () => false, // whoever writes there will hear of it
  );

/** The same as `auditMediumAt`, of a device that is open already. */
export function auditDevice(device: SectorDevice, asked?: WaysAsked): MediumFacts {
  const { reader, unread } = tolerant(device);
  const facts = auditMedium(reader, asked);
  const { sectors, firstSector } = unread;
  if (firstSector === undefined) return facts;
  return { ...facts, flaws: [flaw('unreadable-sectors', { sectors, firstSector }), ...facts.flaws] };
}

/** Goes on where sectors cannot be read, and counts them. */
function tolerant(device: SectorDevice) {
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
  return { reader, unread };
}
