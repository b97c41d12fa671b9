import type { ProofFacts } from '../../core/checks/medium/check-proof.ts';
import { proofFolder } from '../../core/manifest/stick-names.ts';
import { deviceSectorBytes } from '../volume/sector-device.ts';
import type { Volume } from '../volume/volume.ts';
import { areaBytes, type ProofRunning, rate } from './prove-device.ts';
import { emptyTally, judgeArea, makePattern, type Pattern, readTally, type Tally } from './tally.ts';

/** Small enough for FAT, and for an interrupted proof to lose little. */
const fileBytes = 2 ** 28;
/** Left over for the folder itself. */
const spareBytes = 2 ** 20;

interface ProofFile {
  readonly path: string;
  readonly firstSector: number;
  readonly bytes: number;
}

export interface FreeSpaceRunning extends Pick<ProofRunning, 'signal' | 'heard'> {
  readonly seed: string;
}

/**
 * Fills the free part of VOLUME with a pattern in files of its own, reads them back and removes them. Files of others
 * are not touched.
 */
export async function proveFreeSpace(volume: Volume, running: FreeSpaceRunning): Promise<ProofFacts> {
  await removeProof(volume); // what a run that was killed left
  const files = planFiles(await volume.freeBytes());
  const statedBytes = volume.facts.mediumBytes ?? volume.facts.volumeBytes;
  const pattern = makePattern(Buffer.from(running.seed, 'hex'));
  const tally = emptyTally();
  try {
    const written = await writeFiles(volume, files, pattern, running);
    const read = await readFiles(volume, files, pattern, tally, running);
    return {
      how: 'free-space',
      statedBytes,
      writtenBytes: written.bytes,
      testedBytes: read.bytes,
      finished: !running.signal.aborted,
      readBack: read.readBack,
      ...readTally(tally, Number.POSITIVE_INFINITY), // files lie anywhere: nothing can be said of an end
      sample: undefined,
      writeBytesPerSecond: rate(written.bytes, written.ms),
      readBytesPerSecond: rate(read.bytes, read.ms),
    };
  } finally {
    await removeProof(volume);
    await volume.flush();
  }
}

function planFiles(freeBytes: number): readonly ProofFile[] {
  const toFill = Math.max(0, freeBytes - spareBytes);
  const usable = toFill - (toFill % areaBytes);
  const files: ProofFile[] = [];
  for (let at = 0; at < usable; at += fileBytes) {
    const number = String(files.length + 1).padStart(5, '0');
    files.push({
      path: `${proofFolder}/${number}.BIN`,
      firstSector: at / deviceSectorBytes,
      bytes: Math.min(fileBytes, usable - at),
    });
  }
  return files;
}

const totalOf = (files: readonly ProofFile[]): number => files.reduce((sum, { bytes }) => sum + bytes, 0);

async function writeFiles(
  volume: Volume,
  files: readonly ProofFile[],
  pattern: Pattern,
  { signal, heard }: FreeSpaceRunning,
): Promise<{ bytes: number; ms: number }> {
  const startedMs = performance.now();
  const buffer = new Uint8Array(areaBytes);
  let doneBytes = 0;
  if (files.length > 0) await volume.makeFolder(proofFolder);
  for (const { path, firstSector, bytes } of files) {
    const writer = await volume.create(path, bytes);
    try {
      for (let at = 0; at < bytes && !signal.aborted; at += areaBytes) {
        pattern.fill(firstSector + at / deviceSectorBytes, buffer);
        await writer.write(buffer);
        doneBytes += areaBytes;
        heard('writing', doneBytes, totalOf(files));
      }
    } finally {
      await writer.close();
    }
    if (signal.aborted) break;
    await volume.flush();
  }
  return { bytes: doneBytes, ms: performance.now() - startedMs };
}

async function readFiles(
  volume: Volume,
  files: readonly ProofFile[],
  pattern: Pattern,
  tally: Tally,
  { signal, heard }: FreeSpaceRunning,
): Promise<{ bytes: number; ms: number; readBack: 'medium' | 'cache' }> {
  const startedMs = performance.now();
  const area = new Uint8Array(areaBytes);
  const wanted = new Uint8Array(areaBytes);
  let readBack: 'medium' | 'cache' | undefined;
  let doneBytes = 0;
  for (const { path, firstSector } of files) {
    if (signal.aborted) break;
    const reader = await volume.open(path, 'fresh');
    readBack = readBack === 'cache' ? 'cache' : reader.readBack;
    let filled = 0;
    let next = firstSector;
    for await (const chunk of reader.chunks()) {
      for (let at = 0; at < chunk.length; ) {
        const part = chunk.subarray(at, at + areaBytes - filled);
        area.set(part, filled);
        filled += part.length;
        at += part.length;
        if (filled < areaBytes) continue;
        judge(tally, pattern, next, wanted, area);
        next += areaBytes / deviceSectorBytes;
        filled = 0;
        doneBytes += areaBytes;
        heard('reading-back', doneBytes, totalOf(files));
      }
      if (signal.aborted) break;
    }
  }
  return { bytes: doneBytes, ms: performance.now() - startedMs, readBack: readBack ?? 'cache' };
}

function judge(tally: Tally, pattern: Pattern, first: number, wanted: Uint8Array, read: Uint8Array): void {
  pattern.fill(first, wanted);
  if (Buffer.compare(wanted, read) === 0) tally.goodSectors += read.length / deviceSectorBytes;
  else judgeArea(tally, pattern, first, wanted, read);
}

async function removeProof(volume: Volume): Promise<void> {
  const entries = await volume.entries();
  const own = entries.filter(({ path }) => path === proofFolder || path.startsWith(`${proofFolder}/`));
  for (const { path, kind } of own.toReversed()) {
    if (kind === 'file') await volume.removeFile(path);
    else await volume.removeFolder(path);
  }
}
