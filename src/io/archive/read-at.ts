import { ToolError } from '../../core/model/tool-error.ts';

/** Anything whose bytes can be read from any place: an open file, a file of a stick, a stored entry of an archive. */
export interface ByteSource {
  read(buffer: Buffer, offset: number, length: number, position: number): Promise<{ readonly bytesRead: number }>;
}

/** The same memory for whoever keeps a copy of it by `slice`: that of a Buffer is none. */
export const toHear = ({ buffer, byteOffset, byteLength }: Buffer): Uint8Array =>
  new Uint8Array(buffer, byteOffset, byteLength);

/** The bytes of a file from `at` on, at most `length`, fewer only where the file ends. Throws `file/unreadable`. */
export async function readAt(file: ByteSource, path: string, at: number, length: number): Promise<Buffer> {
  const buffer = Buffer.alloc(length);
  return buffer.subarray(0, await readInto(file, path, buffer, at));
}

/** Fills `buffer` from file offset `at`; returns how many bytes came, fewer only where the file ends. */
export async function readInto(file: ByteSource, path: string, buffer: Buffer, at: number): Promise<number> {
  let filled = 0;
  try {
    while (filled < buffer.length) {
      const { bytesRead } = await file.read(buffer, filled, buffer.length - filled, at + filled);
      if (bytesRead === 0) break;
      filled += bytesRead;
    }
  } catch (cause) {
    throw new ToolError(
      'file/unreadable',
      path,
      `${path} could not be read near byte ${at + filled}.`,
      'The disk it lies on may be failing, or the drive was unplugged. Copy the archive to another disk, or download it again.',
      cause,
    );
  }
  return filled;
}
