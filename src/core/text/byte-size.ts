import { roundedSize } from './words.ts';

const units: Readonly<Record<string, number>> = {
  B: 1,
  KB: 1e3,
  MB: 1e6,
  GB: 1e9,
  TB: 1e12,
  KiB: 2 ** 10,
  MiB: 2 ** 20,
  GiB: 2 ** 30,
  TiB: 2 ** 40,
};

/**
 * Bytes of a size as people write it: `32 GB` is decimal, as sticks are sold; `32 GiB` is binary. Throws RangeError.
 */
export function readByteSize(size: number | string): number {
  if (typeof size === 'number') return size;
  const parts = /^(\d+(?:\.\d+)?) ?([A-Za-z]+)$/.exec(size);
  const unit = units[parts?.[2] ?? ''];
  if (parts === null || unit === undefined) throw new RangeError(`not a size: ${size}`);
  return Math.round(Number(parts[1]) * unit);
}

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
