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

/** Bytes of a size as people write it: `32 GB` is decimal, as sticks are sold; `32 GiB` is binary. Throws RangeError. */
export function readByteSize(size: number | string): number {
  if (typeof size === 'number') return size;
  const parts = /^(\d+(?:\.\d+)?) ?([A-Za-z]+)$/.exec(size);
  const unit = units[parts?.[2] ?? ''];
  if (parts === null || unit === undefined) throw new RangeError(`not a size: ${size}`);
  return Math.round(Number(parts[1]) * unit);
}
