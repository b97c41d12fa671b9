import { setImmediate as yieldToLoop } from 'node:timers/promises';
import type { ProofFacts } from '../../core/checks/medium/check-proof.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { deviceSectorBytes, type FreshDevice, type SectorDevice } from '../volume/sector-device.ts';
import {
  emptyTally,
  judgeArea,
  makePattern,
  noteLostArea,
  noteUnstable,
  type Pattern,
  readTally,
  type Tally,
} from './tally.ts';

/** Where a proof stands; plain data, so that it can be kept in a file and taken up again. */
export interface ProofState {
  /** Eight bytes as hex digits. */
  readonly seed: string;
  readonly bytes: number;
  phase: 'writing' | 'reading-back';
  /** Areas of the phase that are done. */
  areas: number;
  readonly tally: Tally;
  writeMs: number;
  readMs: number;
}

export interface ProofRunning {
  readonly signal: AbortSignal;
  readonly heard: (stage: 'writing' | 'reading-back', doneBytes: number, totalBytes: number) => void;
  /** Called now and then, and when it stops: what it is given can be taken up again. */
  readonly keep: (state: ProofState) => Promise<void>;
}

export const areaBytes = 2 ** 20;
/** So often the system is made to hand on what it holds: its memory must not stand in for the stick. */
const flushAreas = 64;
const keepAreas = 256;

export const startProof = (seed: string, bytes: number): ProofState => ({
  seed,
  bytes: bytes - (bytes % deviceSectorBytes),
  phase: 'writing',
  areas: 0,
  tally: emptyTally(),
  writeMs: 0,
  readMs: 0,
});

/** The medium still holds the last area that STATE says was written: it is the same stick, and the proof can go on. */
export function canGoOn(device: SectorDevice, state: ProofState): boolean {
  if (state.bytes !== device.sizeBytes - (device.sizeBytes % deviceSectorBytes)) return false;
  if (state.areas === 0 && state.phase === 'writing') return false;
  const area = state.phase === 'writing' ? state.areas - 1 : areasOf(state) - 1;
  const sector = new Uint8Array(deviceSectorBytes);
  device.readSectors((area * areaBytes) / deviceSectorBytes, sector);
  return patternOf(state).recognise(sector) !== undefined;
}

const patternOf = ({ seed }: ProofState): Pattern => makePattern(Buffer.from(seed, 'hex'));
const areasOf = ({ bytes }: ProofState): number => Math.ceil(bytes / areaBytes);
const lengthOf = (area: number, { bytes }: ProofState): number => Math.min(areaBytes, bytes - area * areaBytes);

/**
 * Writes the pattern over the whole of DEVICE and reads it back through `openFresh`. Stops between two areas where the
 * signal says so, and answers with what is known by then. A medium that vanished throws `stick/gone`.
 */
export async function proveDevice(
  device: SectorDevice,
  openFresh: () => FreshDevice,
  state: ProofState,
  running: ProofRunning,
): Promise<ProofFacts> {
  let readBack: FreshDevice['readBack'] = 'cache';
  try {
    if (state.phase === 'writing') await writeAll(device, state, running);
    if (state.phase === 'reading-back') {
      const fresh = openFresh();
      readBack = fresh.readBack;
      try {
        await readAll(fresh.device, state, running);
      } finally {
        await fresh.device.close();
      }
    }
  } finally {
    await running.keep(state);
  }
  return factsOf(state, readBack);
}

async function writeAll(device: SectorDevice, state: ProofState, { signal, heard, keep }: ProofRunning): Promise<void> {
  const pattern = patternOf(state);
  const buffer = new Uint8Array(areaBytes);
  for (let area = state.areas; area < areasOf(state); area++) {
    if (signal.aborted) return;
    const startedMs = performance.now();
    const bytes = buffer.subarray(0, lengthOf(area, state));
    const first = (area * areaBytes) / deviceSectorBytes;
    pattern.fill(first, bytes);
    // A place that takes no write reads back wrong later, and is judged then.
    orFailed(() => device.writeSectors(first, bytes));
    if (area % flushAreas === flushAreas - 1) await device.flush();
    await yieldToLoop();
    state.writeMs += performance.now() - startedMs;
    state.areas = area + 1;
    if (area % keepAreas === keepAreas - 1) await keep(state);
    heard('writing', area * areaBytes + bytes.length, state.bytes);
  }
  const startedMs = performance.now();
  await device.flush();
  state.writeMs += performance.now() - startedMs;
  state.phase = 'reading-back';
  state.areas = 0;
}

async function readAll(device: SectorDevice, state: ProofState, { signal, heard, keep }: ProofRunning): Promise<void> {
  const pattern = patternOf(state);
  const buffers = [new Uint8Array(areaBytes), new Uint8Array(areaBytes), new Uint8Array(areaBytes)] as const;
  for (let area = state.areas; area < areasOf(state); area++) {
    if (signal.aborted) return;
    const startedMs = performance.now();
    const length = lengthOf(area, state);
    const [wanted, read, again] = buffers;
    readArea(device, pattern, (area * areaBytes) / deviceSectorBytes, state.tally, [
      wanted.subarray(0, length),
      read.subarray(0, length),
      again.subarray(0, length),
    ]);
    await yieldToLoop();
    state.readMs += performance.now() - startedMs;
    state.areas = area + 1;
    if (area % keepAreas === keepAreas - 1) await keep(state);
    heard('reading-back', area * areaBytes + length, state.bytes);
  }
}

/** Reads one area, and once more where it is not as written: what differs then is worn, and not only wrong. */
export function readArea(
  device: SectorDevice,
  pattern: Pattern,
  first: number,
  tally: Tally,
  [wanted, read, again]: readonly [Uint8Array, Uint8Array, Uint8Array],
): void {
  pattern.fill(first, wanted);
  if (!orFailed(() => device.readSectors(first, read))) {
    noteLostArea(tally, first, read.length / deviceSectorBytes);
    return;
  }
  if (Buffer.compare(read, wanted) === 0) {
    tally.goodSectors += read.length / deviceSectorBytes;
    return;
  }
  const isStable = orFailed(() => device.readSectors(first, again)) && Buffer.compare(read, again) === 0;
  if (!isStable) noteUnstable(tally, first);
  judgeArea(tally, pattern, first, wanted, read);
}

/** False where the medium itself failed; all else goes its way. */
function orFailed(step: () => void): boolean {
  try {
    step();
    return true;
  } catch (error) {
    if (error instanceof ToolError && (error.code === 'stick/read-failed' || error.code === 'stick/write-failed'))
      return false;
    throw error;
  }
}

function factsOf(state: ProofState, readBack: FreshDevice['readBack']): ProofFacts {
  const isReading = state.phase === 'reading-back';
  const testedBytes = isReading ? Math.min(state.bytes, state.areas * areaBytes) : 0;
  const writtenBytes = isReading ? state.bytes : Math.min(state.bytes, state.areas * areaBytes);
  return {
    how: 'whole',
    statedBytes: state.bytes,
    writtenBytes,
    testedBytes,
    finished: testedBytes === state.bytes,
    readBack,
    ...readTally(state.tally, testedBytes / deviceSectorBytes),
    sample: undefined,
    writeBytesPerSecond: rate(writtenBytes, state.writeMs),
    readBytesPerSecond: rate(testedBytes, state.readMs),
  };
}

export const rate = (bytes: number, ms: number): number | undefined =>
  bytes === 0 || ms === 0 ? undefined : Math.round(bytes / (ms / 1000));
