import { createPrivateKey, createPublicKey, generateKeyPairSync, type KeyObject, sign, verify } from 'node:crypto';
import { chmodSync, existsSync, mkdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { delimiter, dirname, join } from 'node:path';
import envPaths from 'env-paths';
import { ToolError } from '../../core/model/tool-error.ts';
import { errnoOf } from '../volume/os-error.ts';
import { syncFolderAtOnce } from './durable-files.ts';
import { readRegularFileSync } from './regular-file.ts';
import { whoElseMayRead } from './windows-rights.ts';

/** A desk's key, ready to seal with. */
interface DeskKey {
  /** SubjectPublicKeyInfo in DER, base64. */
  readonly publicKey: string;
  /** Signs TEXT's UTF-8 bytes; base64. */
  sign(text: string): string;
}

interface KeyFiles {
  readonly privatePath: string;
  readonly publicPath: string;
}

/** An Ed25519 key in PEM has about 120. */
const largestKeyBytes = 65_536;

/**
 * STICKWRIGHT_SEAL_KEY, else the user's own folder: XDG config folder, ~/Library/Preferences. On Windows %LOCALAPPDATA%
 * and not %APPDATA%, which roams: it is copied to a server and to every computer that this person logs in at. A key
 * that an earlier version put there is used where it lies.
 */
export function keyFiles(
  environment: Readonly<Record<string, string | undefined>>,
  platform: NodeJS.Platform = process.platform,
  own: { readonly config: string; readonly data: string } = envPaths('stickwright', { suffix: '' }),
): KeyFiles {
  const named = environment.STICKWRIGHT_SEAL_KEY ?? '';
  const [roaming, local] = [own.config, own.data].map((folder) => join(folder, 'seal', 'desk.key')) as [string, string];
  const usual = platform === 'win32' && (existsSync(local) || !existsSync(roaming)) ? local : roaming;
  const privatePath = named !== '' ? named : usual;
  return { privatePath, publicPath: `${privatePath.replace(/\.key$/, '')}.pub` };
}

/**
 * Makes a key pair (PKCS #8 and SubjectPublicKeyInfo in PEM, RFC 8410) that only this account may read. Never
 * overwrites one.
 */
export function newDeskKey({ privatePath, publicPath }: KeyFiles): DeskKey {
  for (const path of [privatePath, publicPath]) if (existsSync(path)) throw alreadyThere(path);
  const { privateKey, publicKey } = generateKeyPairSync('ed25519');
  try {
    mkdirSync(dirname(privatePath), { recursive: true, mode: 0o700 });
    writeFileSync(privatePath, privateKey.export({ type: 'pkcs8', format: 'pem' }), {
      flag: 'wx',
      mode: 0o600,
      flush: true,
    });
    chmodSync(privatePath, 0o600);
    writeFileSync(publicPath, publicKey.export({ type: 'spki', format: 'pem' }), {
      flag: 'wx',
      mode: 0o644,
      flush: true,
    });
    for (const folder of [dirname(privatePath), dirname(publicPath)]) syncFolderAtOnce(folder);
    checkRights(privatePath, true);
  } catch (error) {
    if (error instanceof ToolError) {
      // Made just now, and nothing was sealed with it.
      for (const path of [privatePath, publicPath]) rmSync(path, { force: true });
      throw error;
    }
    if (errnoOf(error) === 'EEXIST') throw alreadyThere(privatePath);
    throw toFileError(error, privatePath);
  }
  return deskKey(privateKey);
}

/** The desk's key where there is one. Throws `file/not-permitted` where others could use it too. */
export function readDeskKey({ privatePath }: KeyFiles): DeskKey | undefined {
  if (!existsSync(privatePath)) return undefined;
  checkRights(privatePath, false);
  return deskKey(readKey(privatePath, (pem) => createPrivateKey(pem)));
}

/** Throws `file/not-permitted` where others could use the key too. */
function checkRights(path: string, isNew: boolean): void {
  const isOpen = process.platform !== 'win32' && (statSync(path).mode & 0o077) !== 0;
  const why = process.platform === 'win32' ? whoElseMayRead(path, process.env) : undefined;
  if (!isOpen && why === undefined) return;
  const message = "the desk's key can be read by other accounts";
  const copied = 'and make a new key if somebody may have copied it.';
  throw new ToolError(
    'file/not-permitted',
    path,
    why === undefined ? message : `${message}: ${why}`,
    process.platform !== 'win32'
      ? `Make it yours alone (chmod 600), ${copied}`
      : isNew
        ? 'No key was made. Let STICKWRIGHT_SEAL_KEY name a file in your own folder, or unset it.'
        : `Make it yours alone (icacls FILE /inheritance:r /grant:r "%USERNAME%:F"), or move it into your own folder, ${copied}`,
  );
}

/** The public key in a file, which may also be a private one; SubjectPublicKeyInfo in DER, base64. */
export const readTrustedKey = (path: string): string => spki(readKey(path, (pem) => createPublicKey(pem)));

/** The one that was named, else those of STICKWRIGHT_TRUSTED_SEALS (several are separated as in PATH), else none. */
export function trustedKeys(
  named: string | undefined,
  environment: Readonly<Record<string, string | undefined>>,
): readonly string[] | undefined {
  if (named !== undefined) return [readTrustedKey(named)];
  const listed = (environment.STICKWRIGHT_TRUSTED_SEALS ?? '').split(delimiter).filter((path) => path !== '');
  return listed.length === 0 ? undefined : listed.map(readTrustedKey);
}

/** Whether SIGNATURE over TEXT was made with PUBLIC KEY (both base64). Never throws. */
export function isSignedBy(publicKey: string, text: string, signature: string): boolean {
  try {
    const key = createPublicKey({ key: Buffer.from(publicKey, 'base64'), type: 'spki', format: 'der' });
    if (key.asymmetricKeyType !== 'ed25519' || spki(key) !== publicKey) return false;
    return verify(null, Buffer.from(text), key, Buffer.from(signature, 'base64'));
  } catch {
    return false;
  }
}

const spki = (key: KeyObject): string => key.export({ type: 'spki', format: 'der' }).toString('base64');

const deskKey = (privateKey: KeyObject): DeskKey => ({
  publicKey: spki(createPublicKey(privateKey)),
  sign: (text) => sign(null, Buffer.from(text), privateKey).toString('base64'),
});

function readKey(path: string, read: (pem: string) => KeyObject): KeyObject {
  let pem: string;
  try {
    pem = readRegularFileSync(path, largestKeyBytes).toString('utf8');
  } catch (error) {
    if (error instanceof ToolError) throw error;
    throw toFileError(error, path);
  }
  try {
    const key = read(pem);
    if (key.asymmetricKeyType === 'ed25519') return key;
  } catch {
    // said below
  }
  throw new ToolError(
    'file/unreadable',
    path,
    'it is no Ed25519 key in PEM',
    'Give the file that `stickwright seal new` made, or the public one that came from that desk.',
  );
}

const alreadyThere = (path: string): ToolError =>
  new ToolError(
    'file/not-permitted',
    path,
    'there is a key already, and a key is never overwritten: sticks that it sealed could not be proven any more',
    'Use it, or put both of its files away in a safe place first.',
  );

function toFileError(error: unknown, path: string): ToolError {
  const errno = errnoOf(error);
  if (errno === undefined) throw error;
  if (errno === 'ENOENT')
    return new ToolError('file/not-found', path, 'there is no such file', 'Check the name and the folder.', error);
  return new ToolError(
    'file/not-permitted',
    path,
    `the key cannot be read or written there (${errno})`,
    'Ask whoever owns the file or folder for the right to use it, or let STICKWRIGHT_SEAL_KEY name a file in your own folder.',
    error,
  );
}

export const noDeskKey = (path: string): ToolError =>
  new ToolError('file/not-found', path, 'this desk has no key', 'Make one: `stickwright seal new`.');
