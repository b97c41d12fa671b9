import { createCipheriv, createHash } from 'node:crypto';
import { deviceSectorBytes } from '../volume/sector-device.ts';

/** Bytes that are different in every sector and in every run; each sector names itself, so that one in a wrong place shows where it belongs. */
export interface Pattern {
  /** Sectors from FIRST on, as they are to be written. */
  fill(first: number, into: Uint8Array): void;
  /** Which sector of this pattern these 512 bytes are; undefined where they are none. */
  recognise(sector: Uint8Array): number | undefined;
}

export const seedBytes = 8;
const blocksPerSector = deviceSectorBytes / 16;

/** SEED has 8 bytes and stands in every sector; the rest is AES-128 in counter mode, which no controller can compress or guess. */
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
