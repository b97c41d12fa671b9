import { stat } from 'node:fs/promises';
import { familiesFor, fileNamed, portsOfDesk, shelfFor, signersFor } from '../desk.ts';
import { command } from '../frame/command.ts';
import { exitCodeOf, exitCodes, UsageError } from '../frame/exit-codes.ts';
import { accept, because, expected, family, json, shelf, signer } from '../words.ts';

export const shelfAdd = command({
  words: (it) =>
    it
      .description('Reads each package once, keeps it if it is sound, and remembers what was found.')
      .argument('<archive...>', 'the downloaded firmware archives')
      .option('--from <address>', 'where they were downloaded; kept as text, never opened')
      .option('--note <file-or-text>', "the maker's release note: a text file, or the text itself")
      .addOption(shelf())
      .addOption(family())
      .addOption(signer())
      .addOption(expected('sha256'))
      .addOption(expected('sha512'))
      .addOption(expected('sha1'))
      .addOption(expected('md5'))
      .addOption(accept())
      .addOption(because('record'))
      .addOption(json()),
  examples: ['stickwright shelf add reed.1717_5B_second_K2.zip --from https://support.example/sedge/ --note note.txt'],
  run: async (named, options, frame) => {
    const { acceptedReasons, readExpectedHashes } = await import('../read-words.ts');
    const { expandPatterns } = await import('../../io/files/expand-patterns.ts');
    const { addToShelf } = await import('../../workflows/shelf-add.ts');
    const accepted = acceptedReasons(options);
    const claims = readExpectedHashes(options);
    const { expectNamedFile } = await import('../../io/files/standard-input.ts');
    const archivePaths = (await expandPatterns(named)).map(expectNamedFile);
    if (claims.length > 0 && archivePaths.length > 1) {
      const todo = 'Add the packages one by one, or save the checksum file beside them: it is found.';
      throw new UsageError('A hash is that of one file, but several were given.', todo);
    }
    const from = await readAddress(options.from);
    const note = await readNote(options.note);
    const known = await familiesFor(options.family);
    const trusted = await signersFor(options.signer);
    const { shelf: place, made } = await shelfFor(options.shelf, { make: true });
    const request = { archivePaths, ...known, trusted, claims, accepted, from, note };
    return await addToShelf({ request, shelf: place, made, ports: await portsOfDesk(), running: frame.atWork() });
  },
  exitCode: ({ additions, verdict }) =>
    additions.some(({ state }) => state === 'failed') ? exitCodes.toolError : exitCodeOf(verdict),
  text: async (report, look) => (await import('../../render/text/render-shelf.ts')).renderShelfAdd(report, look),
  json: async (report, exitCode) =>
    (await import('../../render/json/shelf-to-json.ts')).shelfAddDocument(report, exitCode),
});

/** An address is kept as text. */
async function readAddress(text: string | undefined): Promise<string | undefined> {
  if (text === undefined) return undefined;
  const { sourceProblem } = await import('../../core/shelf/newcomer-rules.ts');
  const address = text.trim();
  const problem = sourceProblem(address);
  if (problem === undefined) return address;
  const todo = 'Copy the address of the download page, such as https://support.example/sedge/.';
  const cure = problem.includes('password') ? `Leave it out. ${todo}` : todo;
  throw new UsageError(`The address after --from ${problem}.`, cure);
}

/**
 * The text of a file, where there is one of that name; else the words themselves, which may also be the name of a
 * folder.
 */
async function readNote(text: string | undefined): Promise<string | undefined> {
  if (text === undefined) return undefined;
  const { longestNote, noteProblem } = await import('../../core/shelf/newcomer-rules.ts');
  const path = await fileNamed(text);
  const named = await stat(path).catch(() => undefined);
  const note = named === undefined || named.isDirectory() ? text : await readNoteFile(path, longestNote);
  const problem = noteProblem(note);
  if (problem !== undefined)
    throw new UsageError(problem, 'Keep the part that says which panels, from which build, and what is lost.');
  return note.trim() === '' ? undefined : note;
}

async function readNoteFile(path: string, longest: number): Promise<string> {
  const { readNamedFile } = await import('../../io/files/regular-file.ts');
  // A character of UTF-8 has at most four bytes; what is longer than a note may be is told with its number of
  // characters.
  const bytes = await readNamedFile(path, 64 * longest, 'Check the path of the note.');
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    throw new UsageError(`${path} is not a text in UTF-8.`, 'Save the release note as a text file, or copy its text.');
  }
}
