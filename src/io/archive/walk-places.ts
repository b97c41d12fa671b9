import { localHeaderLength } from '../../core/archive-format/read-local-header.ts';
import type { Gap } from '../../core/archive-format/reading-facts.ts';
import { fixedBytes, indexOfSignature, signatures } from '../../core/archive-format/signatures.ts';

const headBytes = 24;
const endBytes = 24;

/** Looks at the bytes between two entries as they come: how many, what they are, whether a local header hides there. */
export class GapScan {
  readonly #at: number;
  #length = 0;
  #head = Buffer.alloc(0);
  #last = Buffer.alloc(0);
  #zeroAfterHead = true;
  #hiddenHeaderAt: number | undefined;

  constructor(at: number) {
    this.#at = at;
  }

  add(bytes: Buffer): void {
    if (bytes.length === 0) return;
    const overlap = this.#last.subarray(-3);
    if (this.#hiddenHeaderAt === undefined) {
      const searched = Buffer.concat([overlap, bytes]);
      const found = indexOfSignature(searched, signatures.localHeader);
      if (found !== -1) this.#hiddenHeaderAt = this.#at + this.#length - overlap.length + found;
    }
    const toHead = Math.min(headBytes - this.#head.length, bytes.length);
    if (toHead > 0) this.#head = Buffer.concat([this.#head, bytes.subarray(0, toHead)]);
    if (this.#zeroAfterHead) this.#zeroAfterHead = bytes.subarray(Math.max(0, toHead)).every((byte) => byte === 0);
    this.#last = Buffer.concat([this.#last, bytes.subarray(-endBytes)]).subarray(-endBytes);
    this.#length += bytes.length;
  }

  end(): Gap {
    return {
      at: this.#at,
      length: this.#length,
      head: this.#head,
      last: this.#last,
      zeroAfterHead: this.#zeroAfterHead,
      hiddenHeaderAt: this.#hiddenHeaderAt,
    };
  }
}

/**
 * Takes a local header's next bytes; returns how many it took. A header that lies whole in `bytes` is not copied, so it
 * is only valid as long as they are.
 */
export function collectHeader(header: { bytes: Buffer }, bytes: Buffer): number {
  const whole = header.bytes.length === 0 ? localHeaderLength(bytes) : undefined;
  if (whole !== undefined && whole !== -1 && whole <= bytes.length) {
    header.bytes = bytes.subarray(0, whole);
    return whole;
  }
  const known = localHeaderLength(header.bytes);
  const wanted = known === undefined || known === -1 ? fixedBytes.localHeader : known;
  const part = bytes.subarray(0, wanted - header.bytes.length);
  header.bytes = Buffer.concat([header.bytes, part]);
  return part.length;
}
