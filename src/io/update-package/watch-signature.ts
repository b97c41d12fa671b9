import type { ArchiveFacts } from '../../core/model/archive-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { largestTailBytes, parseFooter } from '../../core/update-package/parse-footer.ts';
import type { SignatureFacts } from '../../core/update-package/update-package-facts.ts';
import { openRegularFile } from '../files/regular-file.ts';
import type { SignedRange } from './check-signed-range.ts';

/** Where there is nothing to hash, the answer is known before the pass. */
type Prepared =
  | SignatureFacts
  | { readonly state: 'hashing'; readonly signedBytes: number; readonly range: SignedRange };

/**
 * Hears the raw bytes of an archive and checks its whole-file signature. What the signature says is read from the end
 * of the file before the first byte is taken, so that only what must be hashed is hashed.
 */
export function watchSignature(archive: ArchiveFacts, trusted: readonly Uint8Array[]) {
  let prepared: Prepared | undefined;
  let position = 0;
  const take = (now: Prepared, chunk: Uint8Array): void => {
    if (now.state === 'hashing' && position < now.signedBytes)
      now.range.update(chunk.subarray(0, now.signedBytes - position));
    position += chunk.length;
  };
  return {
    raw(chunk: Uint8Array): void | Promise<void> {
      if (prepared !== undefined) return take(prepared, chunk);
      return prepare(archive, trusted).then((now) => {
        prepared = now;
        take(now, chunk);
      });
    },
    async answer(): Promise<SignatureFacts> {
      const now = prepared ?? (await prepare(archive, trusted));
      return now.state === 'hashing' ? now.range.answer() : now;
    },
  };
}

async function prepare(archive: ArchiveFacts, trusted: readonly Uint8Array[]): Promise<Prepared> {
  // What is no zip has no comment; whatever its last bytes are, they are no footer.
  if (archive.entries.length === 0) return { state: 'none' };
  const tail = await readTail(archive.path, archive.bytes, largestTailBytes);
  const footer = parseFooter(tail, archive.bytes);
  if (footer.state === 'none') return { state: 'none' };
  if (footer.state === 'broken') return { state: 'footer-broken', problem: footer.problem };
  // Loaded here, because most archives have no signature and the libraries take a tenth of a second.
  const [{ readCms }, { checkSignedRange }, { describeCertificate }] = await Promise.all([
    import('./read-cms.ts'),
    import('./check-signed-range.ts'),
    import('./read-signers.ts'),
  ]);
  const reading = readCms(footer.cms);
  if (reading.state !== 'read') return reading;
  const certificates = trusted.map(describeCertificate).filter((one) => one !== undefined);
  const range = checkSignedRange(reading.cms, footer.signedBytes, certificates);
  return { state: 'hashing', signedBytes: footer.signedBytes, range };
}

/**
 * The last `bytes` of a file of `fileBytes`, or all of it where it is shorter. Throws ToolError `file/unreadable`, and
 * `file/changed-while-read` where the file has become shorter.
 */
async function readTail(path: string, fileBytes: number, bytes: number): Promise<Uint8Array> {
  const tail = new Uint8Array(Math.min(bytes, fileBytes));
  const start = fileBytes - tail.length;
  const file = await openRegularFile(path).catch((cause: unknown) => {
    throw cause instanceof ToolError ? cause : unreadable(path, cause);
  });
  try {
    for (let done = 0; done < tail.length; ) {
      const { bytesRead } = await file.read(tail, done, tail.length - done, start + done);
      if (bytesRead === 0) throw shorter(path);
      done += bytesRead;
    }
    return tail;
  } catch (cause) {
    throw cause instanceof ToolError ? cause : unreadable(path, cause);
  } finally {
    await file.close();
  }
}

const unreadable = (path: string, cause: unknown): ToolError =>
  new ToolError(
    'file/unreadable',
    path,
    `The end of ${path} could not be read.`,
    'Check the drive it lies on, or copy it from its source again.',
    cause,
  );

const shorter = (path: string): ToolError =>
  new ToolError(
    'file/changed-while-read',
    path,
    `${path} became shorter while it was being read.`,
    'Wait until nothing writes to it any more (a download, a copy), then start again.',
  );
