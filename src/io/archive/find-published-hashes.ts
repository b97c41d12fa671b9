import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import type { HashClaim } from '../../core/checks/archive/check-published-hashes.ts';
import { parseChecksumList } from '../../core/checks/archive/parse-checksum-list.ts';
import { type Finding, finding } from '../../core/findings/finding.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { openRegularFile } from '../files/regular-file.ts';

/** What checksum files beside an archive say about it. */
export interface PublishedHashes {
  readonly claims: readonly HashClaim[];
  /** Lists that cannot be read, or name only other files. */
  readonly findings: readonly Finding[];
}

const ownEnding = /^\.(sha-?(1|256|512)(sums?)?|md5(sums?)?|checksum|hash|sum)(\.txt)?$/i;
const sharedName = /^(sha-?(1|256|512)|md5|check|hash)(sums?|es)?([-_.]all)?(\.txt|\.asc)?$/i;

/** Longer files are no checksum lists. */
const longestListBytes = 1024 * 1024;

/**
 * Looks for checksum files beside the archive: named after it (`name.zip.sha256`, `name.md5`), or shared by a folder
 * (`SHA256SUMS`, `checksums.txt`). What cannot be opened counts as absent; a pipe
 * or a device under such a name throws `file/unreadable`.
 */
export async function findPublishedHashes(archivePath: string): Promise<PublishedHashes> {
  const folder = dirname(archivePath);
  const fileName = basename(archivePath);
  const names = await readdir(folder).catch(() => []);
  const lists = names.toSorted().filter((name) => isOwnList(name, fileName) || sharedName.test(name));
  const read = await Promise.all(lists.map((name) => readList(join(folder, name), name, fileName)));
  return { claims: read.flatMap(({ claims }) => claims), findings: read.flatMap(({ findings }) => findings) };
}

function isOwnList(name: string, fileName: string): boolean {
  const stem = fileName.replace(/\.[^.]*$/, '');
  const endingAfter = (start: string): boolean =>
    name.length > start.length &&
    name.slice(0, start.length).toLowerCase() === start.toLowerCase() &&
    ownEnding.test(name.slice(start.length));
  return endingAfter(fileName) || endingAfter(stem);
}

async function readList(path: string, listName: string, fileName: string): Promise<PublishedHashes> {
  const text = await readText(path);
  if (text === undefined) return { claims: [], findings: [] };
  const { hashes, unreadable } = parseChecksumList(text);
  const [first] = unreadable;
  const findings: Finding[] = [];
  if (first !== undefined) findings.push(finding('archive/hash-list-unreadable', listName, first));
  const own = isOwnList(listName, fileName);
  const names = hashes.flatMap((hash) => hash.fileName ?? []);
  // A bare value in a list that bears the archive's own name needs no name inside.
  const ours = hashes.filter((hash) => (hash.fileName === undefined ? own : sameName(hash.fileName, fileName)));
  if (ours.length === 0 && (first === undefined || names.length > 0)) {
    findings.push(finding('archive/hash-list-silent', listName, { names: [...new Set(names)] }));
  }
  return { claims: ours.map(({ algorithm, hex }) => ({ algorithm, hex, from: listName })), findings };
}

const sameName = (listed: string, fileName: string): boolean =>
  listed.normalize('NFC').toLowerCase() === fileName.normalize('NFC').toLowerCase();

async function readText(path: string): Promise<string | undefined> {
  if ((await stat(path).catch(() => undefined))?.isDirectory()) return undefined; // `checksums` may be one
  const file = await openRegularFile(path).catch((error: unknown) => {
    if (error instanceof ToolError) throw error; // no file at all
    return undefined;
  });
  if (file === undefined) return undefined;
  try {
    const facts = await file.stat();
    if (facts.size > longestListBytes) return undefined;
    return decodeText(await file.readFile());
  } catch {
    return undefined;
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
