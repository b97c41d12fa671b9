import type { ArchiveFacts } from '../../core/model/archive-facts.ts';
import { largestTailBytes, parseFooter } from '../../core/update-package/parse-footer.ts';
import type { SignatureFacts } from '../../core/update-package/update-package-facts.ts';
import type { SignedRange } from './check-signed-range.ts';
import { readTail } from './read-tail.ts';

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
    import('./describe-certificate.ts'),
  ]);
  const reading = readCms(footer.cms);
  if (reading.state !== 'read') return reading;
  const certificates = trusted.map(describeCertificate).filter((one) => one !== undefined);
  const range = checkSignedRange(reading.cms, footer.signedBytes, certificates);
  return { state: 'hashing', signedBytes: footer.signedBytes, range };
}
