const units = ['bytes', 'KB', 'MB', 'GB', 'TB'] as const;

/** `31.9 GB (31,914,983,424 bytes)`: decimal units, as sticks are sold, and the exact number beside the rounded one. */
export function sizeInWords(bytes: number): string {
  const exact = `${Math.abs(bytes).toLocaleString('en-US')} bytes`;
  return Math.abs(bytes) < 1000 ? exact : `${roundedSize(bytes)} (${exact})`;
}

/** `31.9 GB`. */
export function roundedSize(bytes: number): string {
  let value = Math.abs(bytes);
  let unit = 0;
  while (value >= 999.5 && unit < units.length - 1) {
    value /= 1000;
    unit++;
  }
  return `${unit === 0 ? value : value.toFixed(value < 10 ? 2 : value < 100 ? 1 : 0)} ${units[unit]}`;
}

/** `a, b, c and 4 more`. */
export function listInWords(items: readonly string[], most = 4): string {
  if (items.length <= most) return items.join(', ');
  return `${items.slice(0, most).join(', ')} and ${items.length - most} more`;
}

/** `1 file`, `2 files`. */
export const countInWords = (count: number, one: string, many = `${one}s`): string =>
  `${count.toLocaleString('en-US')} ${count === 1 ? one : many}`;
