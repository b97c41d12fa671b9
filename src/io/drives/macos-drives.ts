import { realpath } from 'node:fs/promises';
import { runProgram } from '../programs/run-program.ts';
import { type DriveSource, type Mount, refuseDrive } from './drive-source.ts';
import type { Drive } from './drives.ts';
import { type DiskInfo, type DiskStores, parseDiskInfo, parseDiskList } from './parse-diskutil.ts';
import type { PlaceInUse } from './places-in-use.ts';

type Run = (program: 'diskutil' | 'df', args: readonly string[]) => Promise<string>;

/**
 * diskutil knows everything we ask. Checked with recorded and made-up answers; the calls are not exercised on this OS.
 */
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

/**
 * Volumes of a container lie on the disks that the container is made of, so they are shown there and unmounted with
 * them.
 */
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

/**
 * For every disk that is made of others (an APFS container, a Fusion drive, a CoreStorage volume), the whole disks
 * below it.
 */
export type Backing = ReadonlyMap<string, ReadonlySet<string>>;

type Held = Pick<PlaceInUse, 'what' | 'isSystem'>;

/** `/dev/disk3` of `/dev/disk3s1s1`: parts, and snapshots of parts, are numbered below their disk (diskutil(8)). */
export const wholeDiskOf = (device: string): string =>
  /^\/dev\/r?(disk\d+)/.exec(device)?.[1]?.replace(/^/, '/dev/') ?? device;

/** Both the list and each disk's own answer may name what a disk is made of; either is believed. */
export function findBacking(infos: readonly DiskInfo[], listed: DiskStores): Backing {
  const backing = new Map<string, Set<string>>();
  const add = (device: string, stores: readonly string[]): void => {
    const disk = wholeDiskOf(device);
    const below = stores.map(wholeDiskOf).filter((store) => store !== disk);
    if (below.length > 0) backing.set(disk, new Set([...(backing.get(disk) ?? []), ...below]));
  };
  for (const [device, stores] of listed) add(device, stores);
  for (const { device, stores } of infos) add(device, stores);
  return backing;
}

/** What `df` said of each place; undefined where it failed. */
export interface LocatedOnMacos {
  readonly place: PlaceInUse;
  readonly device: string | undefined;
}

/** Parts that belong to a disk made of several, whatever it is called (Content as diskutil gives it, from memory). */
const memberContent = /^Apple_(CoreStorage|RAID|APFS)/;

/**
 * What each whole disk holds of the places in use: followed from the volume that a place lies on to its disk, and from
 * there to all physical disks below. Where that way ends at a disk that is made of others and does not say of which,
 * every disk with such a part may be one; where it leads nowhere, every disk may be: what the system does not tell
 * counts against the drive.
 */
export function holdOnMacos(
  infos: readonly DiskInfo[],
  backing: Backing,
  located: readonly LocatedOnMacos[],
): (disk: string) => readonly Held[] {
  const byDisk = new Map<string, Held[]>();
  const anywhere: Held[] = [];
  const hold = (disk: string, held: Held): void => void byDisk.set(disk, [...(byDisk.get(disk) ?? []), held]);
  const perhaps = ({ what, isSystem }: Held): Held => ({
    what: `perhaps ${what} (the system does not tell which drive does)`,
    isSystem,
  });

  for (const { place, device } of located) {
    const held = { what: place.what, isSystem: place.isSystem };
    if (device === undefined || device === '') {
      if (place.isSystem) anywhere.push(perhaps(held));
      continue;
    }
    if (!device.startsWith('/dev/')) continue; // another computer's, or memory
    for (const disk of withAllBelow(wholeDiskOf(device), backing)) {
      hold(disk, held);
      const info = infos.find((one) => one.device === disk);
      if (info === undefined) anywhere.push(perhaps(held));
      else if (info.isVirtual && !backing.has(disk)) {
        // An image file lies somewhere; only for the system and home that is worth refusing all.
        if (info.isImage && !place.isSystem) continue;
        const members = infos.filter(({ content }) => memberContent.test(content ?? ''));
        for (const member of members) hold(wholeDiskOf(member.device), perhaps(held));
        if (members.length === 0) anywhere.push(perhaps(held));
      }
    }
  }
  return (disk) => [...(byDisk.get(disk) ?? []), ...anywhere];
}

/** DISK and all that it is made of, down to the physical ones. */
function withAllBelow(disk: string, backing: Backing): ReadonlySet<string> {
  const found = new Set([disk]);
  for (const one of found) for (const below of backing.get(one) ?? []) found.add(below);
  return found;
}
