import { realpath } from 'node:fs/promises';
import { runProgram } from '../../programs/run-program.ts';
import type { DriveSource, Mount } from '../drive-source.ts';
import type { Drive } from '../drives.ts';
import type { PlaceInUse } from '../places-in-use.ts';
import { refuseDrive } from '../refuse-drive.ts';
import { type Backing, findBacking, holdOnMacos, wholeDiskOf } from './hold-on-macos.ts';
import { type DiskInfo, parseDiskInfo, parseDiskList } from './parse-diskutil.ts';

type Run = (program: 'diskutil' | 'df', args: readonly string[]) => Promise<string>;

/** diskutil knows everything we ask. Checked with recorded and made-up answers; the calls are not exercised on this OS. */
export function macosDrivesBy(run: Run): DriveSource {
  const infoOf = async (device: string): Promise<DiskInfo> =>
    parseDiskInfo(await run('diskutil', ['info', '-plist', device]));

  /** POSIX df: the second line's first column is the device. */
  async function deviceOf(path: string): Promise<string> {
    const lines = (await run('df', ['-P', await realpath(path).catch(() => path)])).split('\n');
    return lines[1]?.split(/\s/)[0] ?? '';
  }

  return {
    async listDrives(inUse) {
      const list = parseDiskList(await run('diskutil', ['list', '-plist']));
      // One that was pulled meanwhile takes no other with it.
      const infos = (await Promise.all(list.names.map((name) => infoOf(name).catch(() => [])))).flat();
      const backing = findBacking(infos, list.stores);
      const located = await Promise.all(
        inUse.map(async (place) => ({ place, device: await deviceOf(place.path).catch(() => undefined) })),
      );
      const held = holdOnMacos(infos, backing, located);
      return infos
        .filter((info) => info.isWhole && !backing.has(info.device))
        .map((whole) => toDrive(whole, infos, backing, held(whole.device)));
    },

    async mountOf(path): Promise<Mount | undefined> {
      return (await infoOf(await deviceOf(path))).mount;
    },
  };
}

export const macosDrives: DriveSource = macosDrivesBy(runProgram);

/** Volumes of a container lie on the disks that the container is made of, so they are shown there and unmounted with them. */
function toDrive(
  whole: DiskInfo,
  infos: readonly DiskInfo[],
  backing: Backing,
  held: readonly Pick<PlaceInUse, 'what' | 'isSystem'>[],
): Drive {
  const isOn = (disk: string): boolean =>
    disk === whole.device || [...(backing.get(disk) ?? [])].some((one) => one !== disk && isOn(one));
  const parts = infos.filter((info) => !info.isWhole && isOn(wholeDiskOf(info.device)));
  const holds = [...new Set(held.map(({ what }) => what))];
  const facts = { ...whole.facts, holdsSystem: held.some(({ isSystem }) => isSystem) };
  return {
    ...facts,
    port: undefined,
    partitionTable: whole.table,
    volumes: (parts.length > 0 ? parts : [whole]).map((info) => info.volume),
    holds,
    refusedBecause: refuseDrive(facts, holds),
  };
}
