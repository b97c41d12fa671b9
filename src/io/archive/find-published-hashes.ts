import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import type { HashClaim, HashListFact, PublishedHashes } from '../../core/checks/archive/check-published-hashes.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { type ListedHash, parseChecksumList } from '../../core/text/checksum-list.ts';
import { openRegularFile } from '../files/regular-file.ts';

const sum = '(?:sums?)?';
const kinds = `sha-?(?:1|2|224|256|384|512)?${sum}|md5${sum}|crc(?:-?32)?|sfv|checksums?|hash(?:es)?|sums?|digests?`;
const shaThree = 'sha-?3(?:[-_]?\\d{3})?|sha512[-_]?(?:224|256)';
/** Kinds that are not read: other families of hashes, and trees of them. They end in what their programs put there. */
const otherHashes = `${shaThree}|b[23]|blake[23][sbp]?|md[24]|xxh(?:32|64|128|3)?|rmd160|ripemd(?:160)?|whirlpool|sm3`;
const otherKinds = `(?:${otherHashes})${sum}|tiger|gost|streebog|adler32|crc(?:16|64)|cksum|k12|tth|ed2k`;
const ownEnding = new RegExp(`^\\.(?:${kinds})(?:\\.txt|\\.asc)?$`, 'i');
const otherEnding = new RegExp(`^\\.(?:${otherKinds})(?:\\.txt)?$`, 'i');
/** `SHA256SUMS`, `checksums.txt`: named after nothing, so for all that lies there. */
const after = '(?:[-_.]all)?(?:\\.(?:txt|asc))?$';
const sharedName = new RegExp(
  `^(?:sha-?(?:1|224|256|384|512)|md5|check|hash|digest|crc-?32)(?:sums?|es|s)?${after}`,
  'i',
);
const otherShared = new RegExp(`^(?:${otherHashes}|ck)sums?${after}`, 'i');
/** Named after something else, such as a release: only what it says of the archive counts. */
const anyList = new RegExp(`^(?:.*[-_.])?(?:${kinds})(?:\\.txt|\\.asc)?$`, 'i');
const crcList = /\.(sfv|crc(-?32)?)(\.txt)?$|^crc-?32(sums?)?(\.txt)?$/i;

/** Longer files are no checksum lists: this is a line for each of some hundred thousand files. */
export const longestListBytes = 16 * 2 ** 20;
/** In a folder of downloads only so many lists of other things are looked into. */
const mostForeignLists = 200;

/**
 * Looks for checksum files beside the archive: named after it (`name.zip.sha256`, `name.md5`, `name.sfv`), shared by a
 * folder (`SHA256SUMS`, `checksums.txt`), or of some other name and naming the archive. What is seen and cannot be used
 * is said; a pipe or a device under such a name throws `file/unreadable`.
 */
export async function findPublishedHashes(archivePath: string): Promise<PublishedHashes> {
  const folder = dirname(archivePath);
  const fileName = basename(archivePath);
  const names = (await readdir(folder).catch(() => [])).toSorted().filter((name) => name !== fileName);
  const isOurs = (name: string): boolean => endsAs(ownEnding, name, fileName) || sharedName.test(name);
  const foreign = names.filter((name) => !isOurs(name) && anyList.test(name)).slice(0, mostForeignLists);
  const read = await Promise.all([
    ...names.filter(isOurs).map((name) => readList(join(folder, name), name, fileName)),
    ...foreign.map((name) => readForeign(join(folder, name), name, fileName)),
  ]);
  const unknown = names.filter((name) => endsAs(otherEnding, name, fileName) || otherShared.test(name));
  return {
    claims: read.flatMap(({ claims }) => claims),
    lists: [...read.flatMap(({ lists }) => lists), ...unknown.map((name) => notUsed(name, 'kind'))],
  };
}

const notUsed = (name: string, because: 'kind' | 'too-long' | 'unopened'): HashListFact => ({
  name,
  state: 'not-used',
  because,
  mostBytes: longestListBytes,
});

/** The archive's name, with or without its own ending, and then this one. */
function endsAs(ending: RegExp, name: string, fileName: string): boolean {
  const endingAfter = (start: string): boolean =>
    name.length > start.length &&
    name.slice(0, start.length).toLowerCase() === start.toLowerCase() &&
    ending.test(name.slice(start.length));
  return endingAfter(fileName) || endingAfter(fileName.replace(/\.[^.]*$/, ''));
}

async function readList(path: string, listName: string, fileName: string): Promise<PublishedHashes> {
  const text = await readText(path);
  if (typeof text !== 'string')
    return { claims: [], lists: text === undefined ? [] : [notUsed(listName, text.because)] };
  const { hashes, unreadable } = parseChecksumList(text, crcList.test(listName));
  const [first] = unreadable;
  const lists: HashListFact[] = first === undefined ? [] : [{ name: listName, state: 'unreadable', line: first }];
  const own = endsAs(ownEnding, listName, fileName);
  const names = hashes.flatMap((hash) => hash.fileName ?? []);
  // A bare value in a list that bears the archive's own name needs no name inside.
  const ours = hashes.filter((hash) => (hash.fileName === undefined ? own : sameName(hash.fileName, fileName)));
  if (ours.length === 0 && (first === undefined || names.length > 0)) {
    lists.push({ name: listName, state: 'silent', names: [...new Set(names)] });
  }
  return { claims: claimsOf(ours, listName), lists };
}

/** A list of other things is not blamed for being silent about this one, nor for what else it is. */
async function readForeign(path: string, listName: string, fileName: string): Promise<PublishedHashes> {
  const text = await readText(path).catch(() => undefined);
  if (typeof text !== 'string') return { claims: [], lists: [] };
  const { hashes } = parseChecksumList(text, crcList.test(listName));
  const ours = hashes.filter((hash) => hash.fileName !== undefined && sameName(hash.fileName, fileName));
  return { claims: claimsOf(ours, listName), lists: [] };
}

const claimsOf = (hashes: readonly ListedHash[], from: string): readonly HashClaim[] =>
  hashes.map(({ algorithm, hex }) => ({ algorithm, hex, from }));

const sameName = (listed: string, fileName: string): boolean =>
  listed.normalize('NFC').toLowerCase() === fileName.normalize('NFC').toLowerCase();

/** Undefined for a folder, which is no list; why it cannot be used for what is one. */
async function readText(path: string): Promise<string | { because: 'too-long' | 'unopened' } | undefined> {
  if ((await stat(path).catch(() => undefined))?.isDirectory()) return undefined; // `checksums` may be one
  const file = await openRegularFile(path).catch((error: unknown) => {
    if (error instanceof ToolError) throw error; // no file at all
    return undefined;
  });
  if (file === undefined) return { because: 'unopened' };
  try {
    const facts = await file.stat();
    return facts.size > longestListBytes ? { because: 'too-long' } : decodeText(await file.readFile());
  } catch {
    return { because: 'unopened' };
  } finally {
    await file.close();
  }
}

/** UTF-8, or UTF-16 as PowerShell writes it, told by the mark (Unicode Standard, 23.8). */
function decodeText(bytes: Buffer): string {
  const encoding =
    bytes[0] === 0xff && bytes[1] === 0xfe ? 'utf-16le' : bytes[0] === 0xfe && bytes[1] === 0xff ? 'utf-16be' : 'utf-8';
  return new TextDecoder(encoding).decode(bytes);
}
