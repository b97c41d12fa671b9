import yauzl, { type Entry, type ZipFile } from 'yauzl';
import { crc32 } from '../../archive/crc32.ts';
import { damaged, tooLarge } from './workbook-refusal.ts';

/** The files inside a workbook, read one by one and bounded: a few kilobytes can unpack to gigabytes. */
export interface Parts {
  readonly names: readonly string[];
  /** The part's bytes in pieces; undefined where there is none of that name. */
  open(name: string): AsyncIterable<Uint8Array> | undefined;
}

const mostParts = 5_000;
/** A sheet of 20,000 rows and 30 columns takes about 40 MB of XML. */
const mostPartBytes = 48_000_000;

/** Throws WorkbookRefusal where it is no sound archive. */
export async function openParts(bytes: Buffer): Promise<Parts> {
  const zip = await yauzl.fromBufferPromise(bytes, { autoClose: false }).catch((cause: Error) => {
    throw damaged(plainly(cause));
  });
  if (zip.entryCount > mostParts) throw tooLarge(`${zip.entryCount.toLocaleString('en-US')} parts`);
  const entries = new Map<string, Entry>();
  try {
    for await (const entry of zip.eachEntry()) {
      // Names are compared without regard to case (ECMA-376 part 2, 6.2.2.3).
      const name = entry.fileName.toLowerCase();
      if (entries.has(name)) throw damaged(`it holds ${entry.fileName} twice`);
      entries.set(name, entry);
    }
  } catch (cause) {
    throw cause instanceof Error && cause.name !== 'WorkbookRefusal' ? damaged(plainly(cause)) : cause;
  }
  return {
    names: [...entries.values()].map(({ fileName }) => fileName),
    open: (name) => {
      const entry = entries.get(name.toLowerCase());
      return entry === undefined ? undefined : readPart(zip, entry);
    },
  };
}

async function* readPart(zip: ZipFile, entry: Entry): AsyncGenerator<Uint8Array> {
  if ((entry.generalPurposeBitFlag & 1) !== 0) throw damaged(`${entry.fileName} is encrypted`);
  let bytes = 0;
  let check = 0;
  try {
    for await (const chunk of await zip.openReadStreamPromise(entry)) {
      const piece = chunk as Buffer;
      bytes += piece.length;
      if (bytes > mostPartBytes) throw tooLarge(`a part (${entry.fileName}) of more than ${mostPartBytes / 1e6} MB`);
      check = crc32(piece, check);
      yield piece;
    }
  } catch (cause) {
    throw cause instanceof Error && cause.name !== 'WorkbookRefusal'
      ? damaged(`${entry.fileName}: ${plainly(cause)}`)
      : cause;
  }
  // yauzl counts the bytes and leaves the checksum to its caller.
  if (check !== entry.crc32) throw damaged(`${entry.fileName} does not have the checksum that the workbook states`);
}

const plainly = (cause: Error): string => cause.message.replace(/\.$/, '');
