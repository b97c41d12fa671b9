import { listDrives } from '../../io/drives/list-drives.ts';
import { drivesDocument, serialise } from '../../render/json/to-json.ts';
import { renderDrives } from '../../render/text/render-drives.ts';
import { exitCodes } from '../exit-codes.ts';
import { lookOf, say } from '../screen.ts';

export async function runDrives(options: {
  readonly all?: true | undefined;
  readonly json?: true | undefined;
}): Promise<number> {
  const drives = (await listDrives()).filter(({ refusedBecause }) => options.all || refusedBecause === undefined);
  await say(
    options.json ? serialise(drivesDocument(drives)) : renderDrives(drives, lookOf(process.stdout, process.env)),
  );
  return exitCodes.ready;
}
