import type { Mode } from '../../core/model/mode.ts';
import { columnMemoryFile, openColumnMemory } from '../../io/rooms/column-memory.ts';
import { readRoomList } from '../../io/rooms/read-room-list.ts';
import { copyList } from '../../io/rounds/copy-list.ts';
import { openShelf } from '../../io/shelf/open-shelf.ts';
import { findShelfPlace } from '../../io/shelf/shelf-folder.ts';
import { roundPlanDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { renderRoundPlan } from '../../render/text/render-round-plan.ts';
import { planRound } from '../../workflows/round-plan.ts';
import { askColumns } from '../ask-columns.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { parseNamedColumns } from '../parse-named-columns.ts';
import { roundFolderFor } from '../round-folder-for.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface RoundPlanOptions {
  readonly mode: Mode;
  readonly columns: readonly string[];
  readonly sheet?: string | undefined;
  readonly shelf?: string | undefined;
  readonly family: readonly string[];
  readonly sticks?: string | undefined;
  readonly minutes?: string | undefined;
  readonly prepareMinutes?: string | undefined;
  readonly dryRun?: true | undefined;
  readonly round?: string | undefined;
  readonly json?: true | undefined;
}

export async function runRoundPlan(list: string, options: RoundPlanOptions): Promise<number> {
  const wishes = {
    sticks: wholeNumber('--sticks', options.sticks, 1, 10_000),
    visitMinutes: wholeNumber('--minutes', options.minutes, 1, 1_440),
    setUpMinutes: wholeNumber('--prepare-minutes', options.prepareMinutes, 0, 1_440),
  };
  const named = parseNamedColumns(options.columns);
  const { families } = await loadFamiliesFor(options.family);
  const { shelf } = await openShelf(findShelfPlace(options.shelf, process.env), { make: false });
  const { now, toolVersion } = makePorts();
  const request = {
    ...wishes,
    mode: options.mode,
    families,
    familyPaths: options.family,
    dryRun: options.dryRun === true,
  };
  const helps = {
    families,
    sheet: options.sheet,
    memory: await openColumnMemory(columnMemoryFile(process.env)),
    ask: options.json || !isInteractive() ? undefined : askColumns,
  };
  const report = await planRound(request, {
    readList: () => readRoomList(list, named, helps),
    listCopy: copyList,
    shelf,
    round: await roundFolderFor({ round: options.round, list }),
    now,
    toolVersion,
  });
  const exitCode = exitCodeOf(report.verdict);
  await say(
    options.json
      ? serialise(roundPlanDocument(report, exitCode))
      : renderRoundPlan(report, lookOf(process.stdout, process.env)),
  );
  return exitCode;
}

function wholeNumber(option: string, text: string | undefined, least: number, most: number): number | undefined {
  if (text === undefined) return undefined;
  const number = /^\d{1,6}$/.test(text.trim()) ? Number(text) : Number.NaN;
  if (number >= least && number <= most) return number;
  throw new UsageError(`${option} ${text} is no such number.`, `Give a whole number from ${least} to ${most}.`);
}
