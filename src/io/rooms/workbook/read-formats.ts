import { getFormatFromId } from 'numfmt';
import type { Parts } from './open-parts.ts';
import { readXml } from './read-xml.ts';

/** The number format of each cell style (ECMA-376 part 1, 18.8.10 cellXfs, 18.8.30 numFmt); a cell's `s` counts into it. */
export async function readFormats(parts: Parts, part: string | undefined): Promise<readonly string[]> {
  const pieces = part === undefined ? undefined : parts.open(part);
  if (part === undefined || pieces === undefined) return [];
  const codes = new Map<number, string>();
  const ids: number[] = [];
  let inCellFormats = false;
  await readXml(part, pieces, {
    open: (local, { numFmtId, formatCode }) => {
      if (local === 'numFmt' && formatCode !== undefined) codes.set(Number(numFmtId), formatCode);
      if (local === 'cellXfs') inCellFormats = true;
      if (local === 'xf' && inCellFormats) ids.push(Number(numFmtId ?? 0));
    },
    close: (local) => {
      if (local === 'cellXfs') inCellFormats = false;
    },
  });
  return ids.map((id) => codes.get(id) ?? builtIn(id));
}

/** Formats that every workbook has without saying so (18.8.30); what a country adds to them is taken as general or a date. */
function builtIn(id: number): string {
  // 27 to 36 and 50 to 58 are dates of East Asian locales, which the library knows as a date in its own way.
  const isKnown = (id >= 0 && id <= 58) || (id >= 67 && id <= 81);
  return isKnown ? getFormatFromId(id) : 'General';
}
