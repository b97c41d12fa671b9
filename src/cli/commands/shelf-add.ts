import { stat } from 'node:fs/promises';
import { ToolError } from '../../core/model/tool-error.ts';
import type { ShelfAddReport } from '../../core/report/shelf-reports.ts';
import { longestNote, longestSource } from '../../core/shelf/shelf-record.ts';
import { expandPatterns } from '../../io/files/expand-patterns.ts';
import { readRegularFile } from '../../io/files/regular-file.ts';
import { openShelf } from '../../io/shelf/open-shelf.ts';
import { findShelfPlace } from '../../io/shelf/shelf-folder.ts';
import { readSigners } from '../../io/update-package/read-signers.ts';
import { serialise } from '../../render/json/serialise.ts';
import { shelfAddDocument } from '../../render/json/shelf-to-json.ts';
import { renderShelfAdd } from '../../render/text/render-shelf.ts';
import { addToShelf } from '../../workflows/shelf-add.ts';
import { acceptedReasons } from '../accepted-reasons.ts';
import { exitCodeOf, exitCodes } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { keepHeapSmall } from '../keep-heap-small.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { makePorts } from '../make-ports.ts';
import { startProgress } from '../progress.ts';
import { type ExpectedHashes, readExpectedHashes } from '../read-expected-hashes.ts';
import { lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

/** A character of UTF-8 has at most four bytes; what is longer than a note may be is told with its number of characters. */
const largestNoteBytes = 64 * longestNote;

export interface ShelfAddOptions extends ExpectedHashes {
  readonly from?: string | undefined;
  readonly note?: string | undefined;
  readonly shelf?: string | undefined;
  readonly family: readonly string[];
  readonly signer: readonly string[];
  readonly accept: readonly string[];
  readonly because: readonly string[];
  readonly json?: true | undefined;
}

export async function runShelfAdd(named: readonly string[], options: ShelfAddOptions): Promise<number> {
  const accepted = acceptedReasons(options);
  const claims = readExpectedHashes(options);
  const archivePaths = await expandPatterns(named);
  if (claims.length > 0 && archivePaths.length > 1) {
    const todo = 'Add the packages one by one, or save the checksum file beside them: it is found.';
    throw new UsageError('A hash is that of one file, but several were given.', todo);
  }
  const from = readAddress(options.from);
  const note = await readNote(options.note);
  const { families, familiesNamed } = await loadFamiliesFor(options.family);
  const trusted = (await Promise.all(options.signer.map(readSigners))).flat();
  const { shelf, made } = await openShelf(findShelfPlace(options.shelf, process.env), { make: true });
  const interruption = watchInterruption(process.stderr);
  keepHeapSmall();
  const progress = startProgress(process.stderr, { quiet: options.json === true });
  try {
    const request = { archivePaths, families, familiesNamed, trusted, claims, accepted, from, note };
    const running = { tell: progress.tell, signal: interruption.signal };
    const report = await addToShelf({ request, shelf, made, ports: makePorts(), running });
    progress.end();
    const exitCode = exitCodeOfAdd(report);
    const look = lookOf(process.stdout, process.env);
    await say(options.json ? serialise(shelfAddDocument(report, exitCode)) : renderShelfAdd(report, look));
    return exitCode;
  } finally {
    progress.end();
    interruption.end();
  }
}

const exitCodeOfAdd = ({ additions, verdict }: ShelfAddReport): number =>
  additions.some(({ state }) => state === 'failed') ? exitCodes.toolError : exitCodeOf(verdict);

/** An address is kept as text; a password in it would be kept too, for everybody to read. */
function readAddress(text: string | undefined): string | undefined {
  if (text === undefined) return undefined;
  const address = text.trim();
  const todo = 'Copy the address of the download page, such as https://support.example/sedge/.';
  if (address === '' || address.length > longestSource || /\p{Cc}/u.test(address)) {
    throw new UsageError('The address after --from is empty, too long, or holds control characters.', todo);
  }
  if (/^[a-z][a-z0-9+.-]*:\/\/[^/?#@]*@/i.test(address)) {
    throw new UsageError('The address after --from holds a user name or a password.', `Leave it out. ${todo}`);
  }
  return address;
}

/** The text of a file, where there is one of that name; else the words themselves, which may also be the name of a folder. */
async function readNote(text: string | undefined): Promise<string | undefined> {
  if (text === undefined) return undefined;
  const named = await stat(text).catch(() => undefined);
  const note = named === undefined || named.isDirectory() ? text : await readNoteFile(text);
  if (note.length > longestNote) {
    throw new UsageError(
      `The release note has ${note.length.toLocaleString('en-US')} characters; ${longestNote.toLocaleString('en-US')} are kept.`,
      'Keep the part that says which panels, from which build, and what is lost.',
    );
  }
  return note.trim() === '' ? undefined : note;
}

async function readNoteFile(path: string): Promise<string> {
  const bytes = await readRegularFile(path, largestNoteBytes).catch((cause) => {
    if (cause instanceof ToolError) throw cause;
    throw new ToolError('file/unreadable', path, `${path} cannot be read.`, 'Check the path of the note.', cause);
  });
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new UsageError(`${path} is not a text in UTF-8.`, 'Save the release note as a text file, or copy its text.');
  }
}
