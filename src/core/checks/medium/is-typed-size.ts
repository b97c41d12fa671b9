import { roundedSize } from '../../findings/words.ts';
import { readByteSize } from '../../plan/read-byte-size.ts';

/** A stick "of 32 GB" holds a little less or more than its name. */
const tolerance = 0.05;

/** Whether TYPED names a drive of BYTES: its exact bytes, the size as it is shown, or the size it is sold as. */
export function isTypedSize(typed: string, bytes: number): boolean {
  const text = typed.trim().replaceAll(',', '');
  const plain = (words: string): string => words.replaceAll(' ', '').toLowerCase();
  if (plain(text) === plain(roundedSize(bytes))) return true;
  if (/^\d+( ?bytes)?$/i.test(text)) return Number.parseInt(text, 10) === bytes;
  const stated = toBytes(text);
  return stated !== undefined && Math.abs(stated - bytes) <= bytes * tolerance;
}

function toBytes(text: string): number | undefined {
  const parts = /^(\d+(?:\.\d+)?) ?([kmgt])(i?)b$/i.exec(text);
  if (parts === null) return undefined;
  return readByteSize(`${parts[1]} ${(parts[2] ?? '').toUpperCase()}${(parts[3] ?? '').toLowerCase()}B`);
}
