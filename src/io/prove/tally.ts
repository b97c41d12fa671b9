import { createCipheriv, createHash } from 'node:crypto';
import type { ProofFacts } from '../../core/checks/medium/check-proof.ts';
import { deviceSectorBytes } from '../volume/sector-device.ts';

/** Counts what came back; plain data, so that it can be kept in a file and taken up again. */
export interface Tally {
  goodSectors: number;
  badSectors: number;
  firstBad: number;
  /** Past the last bad sector; with `firstBad` it tells whether all behind a point is bad. */
  lastBad: number;
  /** Areas with a bad sector. */
  badAreas: number;
  wrappedSectors: number;
  /** Greatest common divisor of how far sectors were from where they belong. */
  wrapSectors: number;
  unstableAreas: number;
  firstUnstable: number;
}

export const emptyTally = (): Tally => ({
  goodSectors: 0,
  badSectors: 0,
  firstBad: -1,
  lastBad: -1,
  badAreas: 0,
  wrappedSectors: 0,
  wrapSectors: 0,
  unstableAreas: 0,
  firstUnstable: -1,
});

/** Judges an area that is not as written, sector by sector. */
export function judgeArea(tally: Tally, pattern: Pattern, first: number, wanted: Uint8Array, read: Uint8Array): void {
  let isBad = false;
  for (let at = 0; at < read.length; at += deviceSectorBytes) {
    const sector = read.subarray(at, at + deviceSectorBytes);
    const number = first + at / deviceSectorBytes;
    if (Buffer.compare(sector, wanted.subarray(at, at + deviceSectorBytes)) === 0) {
      tally.goodSectors++;
      continue;
    }
    const named = pattern.recognise(sector);
    if (named !== undefined && named !== number) {
      tally.wrappedSectors++;
      tally.wrapSectors = greatestDivisor(tally.wrapSectors, Math.abs(named - number));
    } else {
      isBad = true;
      noteBad(tally, number, 1);
    }
  }
  if (isBad) tally.badAreas++;
}

/** Sectors that could not be written or read at all. */
export function noteLostArea(tally: Tally, first: number, sectors: number): void {
  tally.badAreas++;
  noteBad(tally, first, sectors);
}

function noteBad(tally: Tally, first: number, sectors: number): void {
  tally.badSectors += sectors;
  if (tally.firstBad < 0 || first < tally.firstBad) tally.firstBad = first;
  tally.lastBad = Math.max(tally.lastBad, first + sectors);
}

export function noteUnstable(tally: Tally, first: number): void {
  tally.unstableAreas++;
  if (tally.firstUnstable < 0) tally.firstUnstable = first;
}

const greatestDivisor = (a: number, b: number): number => (b === 0 ? a : greatestDivisor(b, a % b));

/**
 * A bad end of at least this much is a capacity that is not there, and no single bad place (common practice, no
 * source).
 */
const leastCutSectors = 2048;

/** What the counts mean for TESTED sectors from the medium's start. */
export function readTally(tally: Tally, tested: number): Pick<ProofFacts, 'wraps' | 'endsAt' | 'bad' | 'unstable'> {
  const wraps = tally.wrappedSectors > 0 ? { trueBytes: tally.goodSectors * deviceSectorBytes } : undefined;
  const isCut =
    wraps === undefined &&
    tally.badSectors >= leastCutSectors &&
    tally.lastBad === tested &&
    tally.badSectors === tested - tally.firstBad;
  const bad =
    tally.badSectors > 0 && !isCut
      ? {
          areas: tally.badAreas,
          bytes: tally.badSectors * deviceSectorBytes,
          firstByte: tally.firstBad * deviceSectorBytes,
        }
      : undefined;
  const unstable =
    tally.unstableAreas > 0
      ? { areas: tally.unstableAreas, firstByte: tally.firstUnstable * deviceSectorBytes }
      : undefined;
  return { wraps, endsAt: isCut ? tally.firstBad * deviceSectorBytes : undefined, bad, unstable };
}

/**
 * Bytes that are different in every sector and in every run; each sector names itself, so that one in a wrong place
 * shows where it belongs.
 */
export interface Pattern {
  /** Sectors from FIRST on, as they are to be written. */
  fill(first: number, into: Uint8Array): void;
  /** Which sector of this pattern these 512 bytes are; undefined where they are none. */
  recognise(sector: Uint8Array): number | undefined;
}

export const seedBytes = 8;
const blocksPerSector = deviceSectorBytes / 16;

/**
 * SEED has 8 bytes and stands in every sector; the rest is AES-128 in counter mode, which no controller can compress or
 * guess.
 */
export function makePattern(seed: Uint8Array): Pattern {
  const key = createHash('sha256').update(seed).digest().subarray(0, 16);
  let zeros = new Uint8Array(0);

  function fill(first: number, into: Uint8Array): void {
    if (zeros.length !== into.length) zeros = new Uint8Array(into.length);
    const counter = Buffer.alloc(16);
    counter.writeBigUInt64BE(BigInt(first) * BigInt(blocksPerSector), 8);
    into.set(createCipheriv('aes-128-ctr', key, counter).update(zeros));
    const view = new DataView(into.buffer, into.byteOffset, into.byteLength);
    for (let at = 0; at < into.length; at += deviceSectorBytes) {
      into.set(seed, at);
      view.setBigUint64(at + seedBytes, BigInt(first + at / deviceSectorBytes), true);
    }
  }

  const whole = new Uint8Array(deviceSectorBytes);
  return {
    fill,
    recognise(sector) {
      if (!seed.every((byte, at) => sector[at] === byte)) return undefined;
      const view = new DataView(sector.buffer, sector.byteOffset, deviceSectorBytes);
      const named = Number(view.getBigUint64(seedBytes, true));
      if (!Number.isSafeInteger(named)) return undefined;
      fill(named, whole);
      return Buffer.compare(whole, sector) === 0 ? named : undefined;
    },
  };
}
