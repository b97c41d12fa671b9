import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { openShelf } from '../../io/shelf/open-shelf.ts';
import type { Shelf } from '../../io/shelf/shelf.ts';
import { findShelfPlace } from '../../io/shelf/shelf-folder.ts';
import { serialise } from '../../render/json/serialise.ts';
import {
  shelfCheckDocument,
  shelfExportDocument,
  shelfFindDocument,
  shelfListDocument,
  shelfRemoveDocument,
} from '../../render/json/shelf-to-json.ts';
import { tame } from '../../render/text/page.ts';
import {
  renderShelfCheck,
  renderShelfDone,
  renderShelfList,
  renderShelvedPackage,
} from '../../render/text/render-shelf.ts';
import { renderShelfFind } from '../../render/text/render-shelf-find.ts';
import { checkShelf } from '../../workflows/shelf-check.ts';
import { findPackageOnShelf } from '../../workflows/shelf-find.ts';
import { exportFromShelf, listShelf, removeFromShelf } from '../../workflows/shelf-list.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { ask, watchInterruption } from '../interruption.ts';
import { keepHeapSmall } from '../keep-heap-small.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { startProgress } from '../progress.ts';
import { isInteractive, lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

interface ShelfOptions {
  readonly shelf?: string | undefined;
  readonly json?: true | undefined;
}

const look = () => lookOf(process.stdout, process.env);

async function shelfFor({ shelf }: ShelfOptions): Promise<Shelf> {
  return (await openShelf(findShelfPlace(shelf, process.env), { make: false })).shelf;
}

export async function runShelfList(words: readonly string[], options: ShelfOptions): Promise<number> {
  const report = await listShelf(words, await shelfFor(options));
  const exitCode = exitCodeOf(report.verdict);
  await say(options.json ? serialise(shelfListDocument(report, exitCode)) : renderShelfList(report, look()));
  return exitCode;
}

export interface ShelfFindOptions extends ShelfOptions {
  readonly label: string;
  readonly running?: string | undefined;
  readonly family: readonly string[];
}

export async function runShelfFind(options: ShelfFindOptions): Promise<number> {
  const { families } = await loadFamiliesFor(options.family);
  const again = [
    ...(options.shelf === undefined ? [] : ['--shelf', options.shelf]),
    ...options.family.flatMap((path) => ['--family', path]),
  ];
  const request = { label: options.label, running: options.running, families, options: again };
  const report = await findPackageOnShelf(request, await shelfFor(options));
  const exitCode = exitCodeOf(report.verdict);
  await say(options.json ? serialise(shelfFindDocument(report, exitCode)) : renderShelfFind(report, look()));
  return exitCode;
}

export async function runShelfCheck(words: readonly string[], options: ShelfOptions): Promise<number> {
  const interruption = watchInterruption(process.stderr);
  keepHeapSmall();
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  try {
    const running = { tell: progress.tell, signal: interruption.signal };
    const report = await checkShelf(words, await shelfFor(options), running);
    progress.end();
    const exitCode = exitCodeOf(report.verdict);
    await say(options.json ? serialise(shelfCheckDocument(report, exitCode)) : renderShelfCheck(report, look()));
    return exitCode;
  } finally {
    progress.end();
    interruption.end();
  }
}

export interface ShelfRemoveOptions extends ShelfOptions {
  readonly yes?: true | undefined;
}

export async function runShelfRemove(words: readonly string[], options: ShelfRemoveOptions): Promise<number> {
  if (!options.yes && (options.json || !isInteractive())) {
    throw new UsageError(
      'Nobody is here to agree: this is not a terminal, or --json was given.',
      'Look at the packages with stickwright shelf list, then run it again with --yes.',
    );
  }
  const agree = async (packages: readonly ShelvedPackage[]): Promise<boolean> =>
    options.yes === true || (await askToRemove(packages));
  const report = await removeFromShelf(words, await shelfFor(options), agree);
  const exitCode = exitCodeOf(report.verdict);
  await say(options.json ? serialise(shelfRemoveDocument(report, exitCode)) : renderShelfDone(report, look()));
  return exitCode;
}

async function askToRemove(packages: readonly ShelvedPackage[]): Promise<boolean> {
  const { confirm } = await import('@inquirer/prompts');
  process.stderr.write(packages.map((one) => renderShelvedPackage(one, look())).join('\n'));
  const message = `Delete ${tame(packages.map(({ record }) => record.name).join(', '))} from the shelf, for every desk?`;
  return await ask((asking) => confirm({ message, default: false }, asking));
}

export interface ShelfExportOptions extends ShelfOptions {
  readonly to: string;
}

export async function runShelfExport(words: readonly string[], options: ShelfExportOptions): Promise<number> {
  const interruption = watchInterruption(process.stderr);
  try {
    const request = { words, folder: options.to };
    const report = await exportFromShelf(request, await shelfFor(options), interruption.signal);
    const exitCode = exitCodeOf(report.verdict);
    await say(options.json ? serialise(shelfExportDocument(report, exitCode)) : renderShelfDone(report, look()));
    return exitCode;
  } finally {
    interruption.end();
  }
}
