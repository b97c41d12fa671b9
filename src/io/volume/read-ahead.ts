import { allocateAligned } from './sector-device.ts';

const blockBytes = 2 ** 20;

/** Page-aligned blocks are costly to get and are given back slowly, so a volume keeps the ones it has. */
export class BlockPool {
  readonly #idle: Uint8Array[] = [];

  take(): Uint8Array {
    return this.#idle.pop() ?? allocateAligned(blockBytes);
  }

  giveBack(block: Uint8Array): void {
    this.#idle.push(block);
  }
}

/** A read of at most a block. Of what comes, WANTED bytes count, behind those that are SKIPPED. */
export interface AlignedRead {
  readonly at: number;
  readonly length: number;
  readonly skipped: number;
  readonly wanted: number;
}

/** A file from its start, as far as it goes. */
export function* readsToTheEnd(): Generator<AlignedRead, undefined> {
  for (let at = 0; ; at += blockBytes) yield { at, length: blockBytes, skipped: 0, wanted: blockBytes };
}

/** The reads that cover SPANS, each from an aligned place. */
export function* readsOf(
  spans: readonly { readonly at: number; readonly bytes: number }[],
  alignment: number,
): Generator<AlignedRead, undefined> {
  for (const span of spans) {
    for (let done = 0; done < span.bytes; ) {
      const skipped = (span.at + done) % alignment;
      const wanted = Math.min(span.bytes - done, blockBytes - skipped);
      const length = Math.ceil((skipped + wanted) / alignment) * alignment;
      yield { at: span.at + done - skipped, length, skipped, wanted };
      done += wanted;
    }
  }
}

/**
 * What FILL reads, one block ahead while the present one is looked at. A block that is not full was the last one of a
 * file.
 */
export async function* readAhead(
  reads: Iterator<AlignedRead, undefined>,
  fill: (into: Uint8Array, read: AlignedRead) => Promise<number>,
  pool: BlockPool,
): AsyncGenerator<Uint8Array> {
  const blocks: Uint8Array[] = [];
  let ahead: Promise<number> | undefined;
  const start = (turn: number) => {
    const { value: read } = reads.next();
    if (read === undefined) return undefined;
    blocks[turn % 2] ??= pool.take(); // a small file needs one only
    const block = (blocks[turn % 2] as Uint8Array).subarray(0, read.length);
    ahead = fill(block, read);
    ahead.catch(() => {}); // it is told when its turn comes
    return { read, block, filling: ahead };
  };
  try {
    let present = start(0);
    for (let turn = 1; present !== undefined; turn++) {
      const { read, block, filling } = present;
      const end = Math.min(await filling, read.skipped + read.wanted);
      present = end < read.skipped + read.wanted ? undefined : start(turn);
      if (end > read.skipped) yield block.subarray(read.skipped, end);
    }
  } finally {
    await ahead?.catch(() => {}); // a block must not be given back while it is being filled
    for (const block of blocks) pool.giveBack(block);
  }
}
