import { afterEach, beforeEach, it } from 'vitest';
import type { Volume } from '../../../../src/io/volume/volume.ts';

/** A fresh, empty volume for one test. */
export interface Stand {
  open(access: 'read' | 'write'): Promise<Volume>;
  /** Pulls the stick while the volume is open; absent where that cannot be done to this kind. */
  vanish?: () => void;
  /**
   * The power goes: the volume as its medium has it at this moment, opened for reading; absent where nothing lies
   * behind it.
   */
  cut?: () => Promise<Volume>;
  undo(): void;
}

/** What differs between the kinds of volume, each for a reason that lies outside this program. */
export interface Traits {
  /** FAT and exFAT compare names without case; ext4 and tmpfs do not, nor does ntfs-3g. */
  readonly ignoresCase: boolean;
  /**
   * New names follow the old ones in the directory. ext4 hashes, NTFS sorts, tmpfs and exfat-fuse show the newest
   * first.
   */
  readonly keepsOrder: boolean;
  readonly refusesFatNames: boolean;
  /** It can be pulled while it is open: the stand has a `vanish`. */
  readonly vanishes?: true;
  /** Its medium can be looked at past the system's memory: the stand has a `cut`. */
  readonly cuts?: true;
  /** It is small enough to be filled to the last cluster. */
  readonly fills: boolean;
}

/** An `it` for what only some kinds of volume can show; the others have no such test. */
export const itWhere = (applies: boolean | undefined): typeof it =>
  applies === true ? it : (((): void => {}) as unknown as typeof it);

export interface Bench {
  /** The volume, open for writing; closed after the test. */
  readonly volume: Volume;
  readonly stand: Stand;
  /** Closes the volume and opens it again. */
  reopen(access?: 'read' | 'write'): Promise<Volume>;
}

/** Gives each test of the surrounding suite a volume of its own. */
export function benchFor(make: () => Promise<Stand>): Bench {
  let stand: Stand | undefined;
  let volume: Volume | undefined;
  beforeEach(async () => {
    stand = await make();
    volume = await stand.open('write');
  });
  afterEach(async () => {
    await volume?.close().catch(() => {}); // a test that pulled the stick has said what it expects before
    stand?.undo();
    volume = undefined;
    stand = undefined;
  });
  const there = <T>(one: T | undefined): T => {
    if (one === undefined) throw new Error('not set up');
    return one;
  };
  return {
    get volume() {
      return there(volume);
    },
    get stand() {
      return there(stand);
    },
    async reopen(access = 'write') {
      await there(volume).close();
      volume = await there(stand).open(access);
      return volume;
    },
  };
}

/** Bytes that differ from place to place, so that a lost or doubled block shows. */
export function patterned(bytes: number, seed = 1): Uint8Array {
  const pattern = new Uint8Array(bytes);
  let state = seed * 2_654_435_761;
  for (let at = 0; at < bytes; at++) {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    pattern[at] = state >>> 24;
  }
  return pattern;
}

export async function writeFile(volume: Volume, path: string, content: Uint8Array, step = 65_536): Promise<void> {
  const writer = await volume.create(path, content.length);
  const chunk = new Uint8Array(step);
  for (let at = 0; at < content.length; at += step) {
    const part = chunk.subarray(0, Math.min(step, content.length - at));
    part.set(content.subarray(at, at + part.length));
    await writer.write(part);
    part.fill(0xee); // a chunk may be used again as soon as the call returns
  }
  await writer.close();
}

export async function readFile(volume: Volume, path: string, how: 'fresh' | 'cached' = 'cached'): Promise<Uint8Array> {
  const chunks: Uint8Array[] = [];
  for await (const chunk of (await volume.open(path, how)).chunks()) chunks.push(chunk.slice());
  return Buffer.concat(chunks);
}

export const pathsOf = async (volume: Volume): Promise<readonly string[]> =>
  (await volume.entries()).map((entry) => entry.path);

/** For `rejects.toMatchObject`. */
export const toolError = (code: string) => ({ name: 'ToolError', code });
