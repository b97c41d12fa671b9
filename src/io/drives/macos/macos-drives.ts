import { realpath } from 'node:fs/promises';
import { homedir } from 'node:os';
import { runProgram } from '../../programs/run-program.ts';
import type { DriveSource, Mount } from '../drive-source.ts';
import type { Drive } from '../drives.ts';
import { refuseDrive } from '../refuse-drive.ts';
import { type DiskInfo, parseDiskInfo, parseDiskList } from './parse-diskutil.ts';

/** diskutil knows everything we ask. Its parser is checked with recorded output; the calls are not exercised on this OS. */
export const macosDrives: DriveSource = {
  async listDrives() {
    const names = parseDiskList(await runProgram('diskutil', ['list', '-plist']));
    const infos = await Promise.all(names.map((name) => infoOf(name)));
    const system = await Promise.all(['/', homedir(), process.cwd()].map((path) => deviceOf(path)));
    const wholeOf = new Map(infos.map((info) => [info.device, info.wholeDevice]));
    const systemDisks = new Set(system.map((device) => wholeOf.get(device) ?? device));
    return infos.filter((info) => info.isWhole).map((whole) => toDrive(whole, infos, systemDisks));
  },

  async mountOf(path): Promise<Mount | undefined> {
    return (await infoOf(await deviceOf(path))).mount;
  },
};

function toDrive(whole: DiskInfo, infos: readonly DiskInfo[], systemDisks: ReadonlySet<string>): Drive {
  const parts = infos.filter((info) => !info.isWhole && info.wholeDevice === whole.device);
  const volumes = (parts.length > 0 ? parts : [whole]).map((info) => info.volume);
  const facts = { ...whole.facts, holdsSystem: systemDisks.has(whole.device) };
  return { ...facts, port: undefined, partitionTable: whole.table, volumes, refusedBecause: refuseDrive(facts) };
}

const infoOf = async (device: string): Promise<DiskInfo> =>
  parseDiskInfo(await runProgram('diskutil', ['info', '-plist', device]));

/** POSIX df: the second line's first column is the device. */
async function deviceOf(path: string): Promise<string> {
  const lines = (await runProgram('df', ['-P', await realpath(path)])).split('\n');
  return lines[1]?.split(/\s/)[0] ?? '';
}
