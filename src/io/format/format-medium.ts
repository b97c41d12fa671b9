import type { FormatPlan, FormatWish, MediumPlace } from '../../core/report/medium-reports.ts';
import type { MediumFacts } from '../../core/volume-format/audit/flaw.ts';
import type { FatKind } from '../../core/volume-format/fat-geometry.ts';
import { layoutSectorBytes } from '../../core/volume-format/layout/plan-fat-layout.ts';
import { auditDevice } from '../medium/audit-medium-at.ts';
import { runPowerShell } from '../programs/run-powershell.ts';
import { runProgram } from '../programs/run-program.ts';
import { openFreshDevice } from '../volume/direct-device.ts';
import { openFileDevice } from '../volume/file-device.ts';
import type { SectorDevice } from '../volume/sector-device.ts';
import { checkSize, claimMedium } from './claim-medium.ts';
import { layOutStick, type StickLayout } from './lay-out-stick.ts';
import { exfatCommand, exfatPlace, makeExfatOnDrive, writeExfat } from './make-exfat.ts';
import { unmountCommands } from './unmount-drive.ts';
import { emptyImage, readBackStick, type WriteRunning, writeStick } from './write-stick.ts';

export interface FormatRunning {
  readonly signal: AbortSignal;
  readonly heard: (stage: 'writing' | 'reading-back', doneBytes: number, totalBytes: number) => void;
}

export interface Formatted {
  readonly made: MediumFacts;
  readonly readBack: 'medium' | 'cache';
}

/** What `formatMedium` will do. Throws `stick/refused` where there is no such volume. */
export function planFormat(place: MediumPlace, wish: FormatWish): FormatPlan {
  const unmounts = place.drive === undefined ? [] : unmountCommands(place.drive, process.platform);
  const { fileSystem, clusterBytes, volumeLabel } = wish;
  const base = { fileSystem, bytes: place.bytes, volumeLabel };
  if (fileSystem === 'exfat') {
    const command = exfatCommand(
      process.platform === 'linux' ? 'VOLUME' : exfatPlace(place.path, process.platform),
      exfatWishOf(place, wish),
      process.platform,
    );
    const commands = [...unmounts, command].map((words) => words.join(' '));
    return { ...base, clusterBytes, clusters: undefined, commands };
  }
  const { layout } = layOut(place, wish, fileSystem);
  return {
    ...base,
    clusterBytes: layout.clusterSectors * layoutSectorBytes,
    clusters: layout.clusters,
    commands: unmounts.map((words) => words.join(' ')),
  };
}

const layOut = (place: MediumPlace, wish: FormatWish, fileSystem: FatKind): StickLayout =>
  layOutStick(place.target, { ...wish, fileSystem, bytes: place.bytes, partitioned: true, at: new Date(wish.at) });

const exfatWishOf = ({ bytes }: MediumPlace, wish: FormatWish) => ({ ...wish, bytes });

/**
 * Erases the medium and formats it, reads everything back and audits it. Throws ToolError; a medium that was left in
 * the middle has no partition table, so nothing takes it for a good one.
 */
export async function formatMedium(place: MediumPlace, wish: FormatWish, running: FormatRunning): Promise<Formatted> {
  const claimed = await claimMedium(place);
  try {
    // What was made just now has no length of its own yet.
    if (place.kind === 'new-image') await emptyImage(place.path, place.bytes);
    const device = openFileDevice(place.path, 'write');
    let stick: StickLayout | undefined;
    try {
      checkSize(place, device);
      const isZero = place.kind !== 'device' && (await emptyImage(place.path, place.bytes));
      stick = await write({ device, isZero }, place, wish, running);
    } finally {
      await device.close();
    }
    if (wish.fileSystem === 'exfat' && process.platform !== 'linux')
      await makeExfatOnDrive(place.path, exfatWishOf(place, wish));
    return readBack(place, stick, running, claimed.mayBeDirect);
  } finally {
    await claimed.release();
    await tellSystem(place);
  }
}

async function write(
  { device, isZero }: { readonly device: SectorDevice; readonly isZero: boolean },
  place: MediumPlace,
  wish: FormatWish,
  { signal, heard }: FormatRunning,
): Promise<StickLayout | undefined> {
  const running: WriteRunning = { signal, heard: (done, total) => heard('writing', done, total) };
  if (wish.fileSystem !== 'exfat') {
    const stick = layOut(place, wish, wish.fileSystem);
    await writeStick(device, stick, { ...running, isZero });
    return stick;
  }
  // The marks of what was there before go first; the formatter itself clears only what it uses.
  await writeStick(device, { clearSectors: 4096, writes: [] }, { ...running, isZero });
  await writeExfat(device, place.target, exfatWishOf(place, wish));
  return undefined;
}

function readBack(
  place: MediumPlace,
  stick: StickLayout | undefined,
  { signal, heard }: FormatRunning,
  mayBeDirect: boolean,
): Formatted {
  const fresh = openFreshDevice(place.path, place.bytes, mayBeDirect);
  try {
    const running: WriteRunning = { signal, heard: (done, total) => heard('reading-back', done, total) };
    if (stick !== undefined) readBackStick(place.path, fresh.device, stick, running);
    return { made: auditDevice(fresh.device), readBack: fresh.readBack };
  } finally {
    void fresh.device.close();
  }
}

/**
 * The system still believes in the old table (blockdev(8)); where it cannot be told, plugging the stick in again does
 * it.
 */
async function tellSystem({ kind, path }: MediumPlace): Promise<void> {
  if (kind !== 'device') return;
  if (process.platform === 'linux') await runProgram('blockdev', ['--rereadpt', path]).catch(() => '');
  if (process.platform === 'win32') await runPowerShell('Update-HostStorageCache').catch(() => '');
}
