import { useState } from 'preact/hooks';
import type { SignerSaid } from '../../core/guide/slip.ts';
import type { ListedHash } from '../../core/text/checksum-list.ts';
import { isBare, noByteCount, type PublishedSaid, readByteCount, readHashesSaid } from '../../core/text/published.ts';
import { attempt, trouble } from '../state.ts';
import { ask } from '../talk.ts';
import { Words } from './marks.tsx';

/** What somebody said of a package's origin, and how it is said anew. */
export interface Origin {
  readonly published: PublishedSaid;
  readonly say: (more: PublishedSaid) => void;
  readonly signers: readonly SignerSaid[];
  readonly trust: (signers: readonly SignerSaid[]) => void;
}

/** A slip keeps no more of a text; of a longer list, dropped, the lines that count are kept. */
const mostPasted = 90_000;

interface PublishedWords {
  readonly origin: Origin;
  /** The packages that it is said of; a hash is that of one file. */
  readonly names: readonly string[];
  /** Whether their length is asked for. */
  readonly hasLength?: true;
}

/** What the maker publishes of a package, judged while it is typed; whether it is so shows in the reading. */
export function Published({ origin, names, hasLength }: PublishedWords) {
  const { published, say, signers } = origin;
  const { hash = '', hashFrom, bytes = '' } = published;
  const isSaid = hash !== '' || bytes !== '' || signers.length > 0;
  // What is emptied again stays open below whoever types there.
  const [isHeld, hold] = useState(isSaid);
  return (
    <details class="published" open={isHeld || isSaid} onToggle={({ currentTarget }) => hold(currentTarget.open)}>
      <summary>What its maker publishes of it: hash{hasLength ? ', length' : ''} and signer</summary>
      <label>
        The hash, or the lines of a checksum list; or drop the list on this page
        <textarea
          rows={2}
          maxLength={mostPasted}
          value={hash}
          spellcheck={false}
          onInput={({ currentTarget }) => say({ hash: currentTarget.value || undefined, hashFrom: undefined })}
        />
      </label>
      <p role="status">
        {hashFrom === undefined ? null : (
          <>
            From <Words>{hashFrom}</Words>.{' '}
          </>
        )}
        {hashInWords(published, names)}
      </p>
      {hasLength ? (
        <label>
          Its length in bytes
          <input
            type="text"
            inputMode="numeric"
            value={bytes}
            autocomplete="off"
            onInput={({ currentTarget }) => say({ bytes: currentTarget.value || undefined })}
          />
        </label>
      ) : null}
      {bytes.trim() === '' || readByteCount(bytes) !== undefined ? null : <p role="status">✗ {noByteCount}</p>}
      <Signers origin={origin} />
      <label class="file-line">
        A checksum list, or a certificate{' '}
        <input
          type="file"
          multiple
          onChange={({ currentTarget }) => {
            void takeOrigin([...(currentTarget.files ?? [])], origin, names);
            currentTarget.value = '';
          }}
        />
      </label>
    </details>
  );
}

/** Why what stands there cannot be that of these packages; undefined where it can. */
export function publishedProblem(published: PublishedSaid, names: readonly string[]): string | undefined {
  for (const name of names) {
    const read = readHashesSaid(published, name);
    if (read.state === 'wrong') return read.why;
    if (read.state === 'read' && isBare(read) && names.length > 1)
      return 'A hash without a name is that of one file: add the packages one by one.';
  }
  return undefined;
}

function hashInWords(published: PublishedSaid, names: readonly string[]): string {
  const problem = publishedProblem(published, names);
  if (problem !== undefined) return `✗ ${problem}`;
  return names
    .flatMap((name) => {
      const read = readHashesSaid(published, name);
      return read.state === 'read' ? [`✓ ${kindsOf(read.hashes)} of ${name}: compared when it is read.`] : [];
    })
    .join(' ');
}

const kindsOf = (hashes: readonly ListedHash[]): string => hashes.map(({ algorithm }) => algorithm).join(' and ');

/** Whose signature is trusted, with the fingerprint to compare; on their own where no hash is asked for. */
export function Signers({ origin: { signers, trust } }: { origin: Pick<Origin, 'signers' | 'trust'> }) {
  return (
    <ul class="signers">
      {signers.map((one) => (
        <li key={one.sha256}>
          Trusted to sign it: <Words>{one.subject}</Words> <code class="block">SHA-256 {one.sha256}</code>{' '}
          <button type="button" class="plain" onClick={() => trust(signers.filter((other) => other !== one))}>
            trust it no more<span class="unseen">: {one.subject}</span>
          </button>
        </li>
      ))}
    </ul>
  );
}

const mostListBytes = 16 * 2 ** 20;

/** Takes checksum lists and certificates: of a list the lines that name one of the packages. */
export async function takeOrigin(files: readonly File[], origin: Origin, names: readonly string[]): Promise<void> {
  await attempt(async () => {
    for (const file of files) {
      if (isCertificate(file.name)) await takeCertificate(file, origin);
      else await takeChecksums(file, origin, names);
    }
  });
}

const isCertificate = (name: string): boolean => /\.(pem|crt|cer|der)$/i.test(name);

export async function takeCertificate(
  file: File,
  { signers, trust }: Pick<Origin, 'signers' | 'trust'>,
): Promise<void> {
  const found = await ask<readonly SignerSaid[]>('POST', `/api/signers?name=${encodeURIComponent(file.name)}`, file);
  const others = signers.filter(({ sha256 }) => !found.some((one) => one.sha256 === sha256));
  trust([...others, ...found]);
}

async function takeChecksums(file: File, { say }: Origin, names: readonly string[]): Promise<void> {
  const text = file.size > mostListBytes ? '' : decoded(new Uint8Array(await file.arrayBuffer()));
  const lines = names.flatMap((name) => {
    const read = readHashesSaid({ hash: text }, name);
    return read.state === 'read' ? read.hashes.map(({ hex }) => `${hex}  ${name}`) : [];
  });
  const [name = 'a package'] = names;
  const read = readHashesSaid({ hash: text }, name);
  if (lines.length > 0) say({ hash: lines.join('\n'), hashFrom: file.name });
  else
    trouble.value = `${file.name}: ${read.state === 'wrong' && names.length > 0 ? read.why : 'choose the package first, so that its line can be found.'}`;
}

/** UTF-8, or UTF-16 as PowerShell writes it, told by the mark (Unicode Standard, 23.8). */
const decoded = (bytes: Uint8Array): string =>
  new TextDecoder(
    bytes[0] === 0xff && bytes[1] === 0xfe ? 'utf-16le' : bytes[0] === 0xfe && bytes[1] === 0xff ? 'utf-16be' : 'utf-8',
  ).decode(bytes);
