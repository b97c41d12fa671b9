import { open, rm } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { moveInto } from '../files/durable-files.ts';
import { readWhole, writeAll } from './copy-file.ts';
import type { ContentDigest, ExportResult } from './shelf.ts';
import { codeOf, toShelfError } from './shelf-error.ts';
import { newTag } from './shelf-folder.ts';

/** Copies under a temporary name, flushes, reads back, compares, and only then gives the copy its name. */
export async function exportPackage(
  { path, record }: ShelvedPackage,
  folder: string,
  signal: AbortSignal,
): Promise<ExportResult> {
  const to = join(resolve(folder), record.name);
  const there = await whatIsThere(to, signal);
  if (there !== undefined) return { to, state: there.sha256 === record.sha256 ? 'there' : 'taken' };
  const temporary = `${to}.${newTag()}.unfinished`;
  try {
    const source = await copy(path, temporary, signal);
    expectSame(source, record.sha256, path);
    const written = await readWhole(temporary, () => {}, signal);
    expectSame(written, record.sha256, temporary);
    if ((await whatIsThere(to, signal)) !== undefined) return { to, state: 'taken' };
    await moveInto(temporary, to);
    return { to, state: 'copied' };
  } catch (cause) {
    throw signal.aborted ? cause : toShelfError(cause, 'write', to);
  } finally {
    await rm(temporary, { force: true }).catch(() => {});
  }
}

async function copy(from: string, to: string, signal: AbortSignal): Promise<ContentDigest> {
  const file = await open(to, 'wx');
  try {
    let position = 0;
    const digest = await readWhole(
      from,
      async (chunk) => {
        await writeAll(file, chunk, position);
        position += chunk.byteLength;
      },
      signal,
    ).catch((cause) => {
      throw signal.aborted ? cause : toShelfError(cause, 'read', from);
    });
    await file.sync();
    return digest;
  } finally {
    await file.close();
  }
}

async function whatIsThere(path: string, signal: AbortSignal): Promise<ContentDigest | undefined> {
  try {
    return await readWhole(path, () => {}, signal);
  } catch (cause) {
    if (codeOf(cause) === 'ENOENT') return undefined;
    throw signal.aborted ? cause : toShelfError(cause, 'read', path);
  }
}

function expectSame({ sha256 }: ContentDigest, expected: string, path: string): void {
  if (sha256 === expected) return;
  throw new ToolError(
    'shelf/content-changed',
    path,
    `${path} is not what was recorded: SHA-256 ${sha256} instead of ${expected}.`,
    'Nothing was copied. Run stickwright shelf check, and add the package again from a fresh download.',
  );
}
