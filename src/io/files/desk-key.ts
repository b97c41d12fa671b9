import { createPrivateKey, createPublicKey, generateKeyPairSync, type KeyObject, sign, verify } from 'node:crypto';
import { chmodSync, existsSync, mkdirSync, statSync, writeFileSync } from 'node:fs';
import { delimiter, dirname, join } from 'node:path';
import envPaths from 'env-paths';
import { ToolError } from '../../core/model/tool-error.ts';
import { errnoOf } from '../volume/os-error.ts';
import { syncFolderAtOnce } from './durable-files.ts';
import { readRegularFileSync } from './regular-file.ts';

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

/** STICKWRIGHT_SEAL_KEY, else the user's own folder: XDG config folder, %APPDATA%, ~/Library/Preferences. */
export function keyFiles(environment: Readonly<Record<string, string | undefined>>): KeyFiles {
  const named = environment.STICKWRIGHT_SEAL_KEY ?? '';
  const privatePath = named !== '' ? named : join(envPaths('stickwright', { suffix: '' }).config, 'seal', 'desk.key');
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
  } catch (error) {
    if (errnoOf(error) === 'EEXIST') throw alreadyThere(privatePath);
    throw toFileError(error, privatePath);
  }
  return deskKey(privateKey);
}

/** The desk's key where there is one. Throws `file/not-permitted` where others could use it too. */
export function readDeskKey({ privatePath }: KeyFiles): DeskKey | undefined {
  if (!existsSync(privatePath)) return undefined;
  if (process.platform !== 'win32' && (statSync(privatePath).mode & 0o077) !== 0) {
    throw new ToolError(
      'file/not-permitted',
      privatePath,
      "the desk's key can be read by other accounts",
      `Make it yours alone (chmod 600), and make a new key if somebody may have copied it.`,
    );
  }
  return deskKey(readKey(privatePath, (pem) => createPrivateKey(pem)));
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
    return new ToolError('file/not-found', path, 'there is no such file', 'Look at the spelling.', error);
  return new ToolError(
    'file/not-permitted',
    path,
    `this account may not do that (${errno})`,
    'Check whose it is.',
    error,
  );
}

export const noDeskKey = (path: string): ToolError =>
  new ToolError('file/not-found', path, 'this desk has no key', 'Make one: `stickwright seal new`.');
