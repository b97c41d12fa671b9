import { join, resolve } from 'node:path';
import { InvalidArgumentError, Option } from '@commander-js/extra-typings';
import type { Round } from '../../core/model/round.ts';
import { roundDeskFor, whoIs } from '../desk.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { collect, endings, json, round } from '../words.ts';
import { keysOf, planOf } from './cards.ts';

export const roundPocket = command({
  words: (it) =>
    it
      .description(
        'Writes one HTML file for a phone: the rooms in walking order, with all that their cards say, and a place to note what was done. It needs no network and asks for none. What is noted comes back with round merge.',
      )
      .addOption(new Option('--for <who>', 'whose file it is (default: STICKWRIGHT_WHO, or your login)'))
      .option('--out <file>', 'where it goes (default: pocket-WHO.html in the folder print of the round)')
      .option('--overwrite', 'replace a file of --out that is there')
      .addOption(
        new Option('--room <room>', 'this room only; may be given several times')
          .argParser(collect)
          .default([] as readonly string[], 'all'),
      )
      .addOption(
        new Option('--stick <number>', 'the rooms that stick NUMBER of the plan goes to; may be given several times')
          .argParser((value: string, all: readonly number[]) => [...all, stickNumber(value)])
          .default([] as readonly number[], 'all'),
      )
      .addOption(round())
      .addOption(json()),
  examples: [
    'stickwright round pocket --for Ada',
    'stickwright round pocket --for Ada --stick 1 --stick 2',
    'stickwright round pocket --for Bo --room "Room 2.14" --out bo.html',
  ],
  codes: endings('written', undefined, 'written, but something that it carries is not proven'),
  run: async (options) => {
    const { newPocketId, newPocketSecret } = await import('../../io/rounds/pocket-files.ts');
    const { readPocketPage } = await import('../../io/rounds/pocket-page.ts');
    const { renderPocket } = await import('../../render/html/render-pocket.ts');
    const { makeRoundPocket } = await import('../../workflows/round-pocket.ts');
    const desk = await roundDeskFor({ ...options, who: options.for });
    const plan = await planOf(desk.folder);
    checkSticks(options.stick, plan);
    const who = whoIs(options.for);
    const rooms = options.room.length === 0 ? new Set<string>() : await keysOf(options.room, plan);
    const page = await readPocketPage();
    return await makeRoundPocket(
      { who, rooms, sticks: options.stick },
      {
        ...desk,
        newPocket: () => ({ id: newPocketId(), secret: newPocketSecret() }),
        renderPocket: (pocket) => new TextEncoder().encode(renderPocket(pocket, page)),
        write: (bytes) => write(bytes, { who, place: desk.folder.place, ...options }),
      },
    );
  },
  text: async (report, look) =>
    (await import('../../render/text/render-round-record.ts')).renderRoundPocket(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/round-documents.ts')).roundPocketDocument(report, exitCode),
});

function stickNumber(value: string): number {
  if (/^[1-9]\d{0,4}$/.test(value)) return Number(value);
  throw new InvalidArgumentError('A number from 1 is wanted, as the plan counts its sticks.');
}

function checkSticks(sticks: readonly number[], { schedule }: Round): void {
  const unknown = sticks.find((stick) => stick > schedule.sticks);
  if (unknown === undefined) return;
  throw new UsageError(
    `The plan has ${schedule.sticks === 1 ? 'one stick' : `${schedule.sticks} sticks`}, and no stick ${unknown}.`,
    'Look at the plan (stickwright round cards prints it on the cover), and name one of its sticks.',
  );
}

interface Where {
  readonly who: string;
  readonly place: string;
  readonly out?: string | undefined;
  readonly overwrite?: true | undefined;
}

/** In the round's own folder an earlier file of ours is replaced; elsewhere nothing is, unless somebody says so. */
async function write(bytes: Uint8Array, { who, place, out, overwrite }: Where): Promise<string> {
  if (out !== undefined) {
    const { writeExport } = await import('../../io/rounds/write-export.ts');
    await writeExport(resolve(out), bytes, overwrite === true);
    return resolve(out);
  }
  const { openPrintFolder } = await import('../../io/cards/print-folder.ts');
  const { pocketFileName } = await import('../../io/rounds/pocket-page.ts');
  const name = pocketFileName(who);
  const folder = await openPrintFolder(join(place, 'print'));
  await folder.expectOurs([name]);
  await folder.put(name, bytes);
  return join(folder.place, name);
}
