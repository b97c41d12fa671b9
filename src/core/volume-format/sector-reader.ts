/** Sectors of 512 bytes of a medium, or of one volume on it. */
export interface SectorReader {
  readonly sizeBytes: number;
  /**
   * Fills INTO, whose length is a multiple of 512. False where the medium does not give these sectors: INTO is zero
   * then.
   */
  readSectors(first: number, into: Uint8Array): boolean;
}

/** Bytes from AT on, cut at the medium's end; AT is a multiple of 512, and the answer's length too. */
export function readAt(reader: SectorReader, at: number, bytes: number): Uint8Array {
  const there = Math.max(0, Math.min(bytes, reader.sizeBytes - at));
  const into = new Uint8Array(there - (there % 512));
  if (into.length > 0) reader.readSectors(at / 512, into);
  return into;
}

/** A part of READER; what lies outside the medium cannot be read. */
export function viewSectors(reader: SectorReader, startByte: number, bytes: number): SectorReader {
  const start = startByte / 512;
  const sizeBytes = Math.max(0, Math.min(bytes, reader.sizeBytes - startByte));
  return {
    sizeBytes,
    readSectors(first, into) {
      const fits = first >= 0 && first * 512 + into.length <= sizeBytes;
      if (fits) return reader.readSectors(start + first, into);
      into.fill(0);
      return false;
    },
  };
}
