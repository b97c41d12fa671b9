import { crc32 } from 'node:zlib';
import sax, { type QualifiedTag } from 'sax';
import yauzl, { type Entry, type ZipFile } from 'yauzl';

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

interface XmlEvents {
  /** Local name, and attributes by local name: the namespaces of transitional and strict workbooks differ. */
  readonly open: (name: string, attributes: Readonly<Record<string, string>>) => void;
  readonly close?: (name: string) => void;
  /** In pieces, white space included. */
  readonly text?: (text: string) => void;
}

/**
 * Reads a part as XML in one pass. Document types are refused (ECMA-376 part 2, 6.2.5), so that no entity is ever
 * expanded. Throws WorkbookRefusal where it is not well-formed.
 */
export async function readXml(part: string, pieces: AsyncIterable<Uint8Array>, events: XmlEvents): Promise<void> {
  const parser = sax.parser(true, { xmlns: true, position: false });
  const fail = (problem: string) => {
    throw damaged(`${part} is not sound XML (${problem.split('\n')[0]})`);
  };
  parser.onerror = (error) => fail(error.message);
  parser.ondoctype = () => fail('a document type, which workbooks may not have');
  parser.onopentag = (tag) => {
    const { local, attributes } = tag as QualifiedTag;
    events.open(
      local,
      Object.fromEntries(
        Object.values(attributes).map(({ local, name, value }) => [local === '' ? name : local, value]),
      ),
    );
  };
  parser.onclosetag = (name) => events.close?.(name.slice(name.indexOf(':') + 1));
  parser.ontext = (text) => events.text?.(text);
  parser.oncdata = (text) => events.text?.(text);
  let decoder: InstanceType<typeof TextDecoder> | undefined;
  // Line ends become LF before anything else (XML 1.0, 2.11), which the library leaves to its caller; a CR may end a
  // piece.
  let endsInReturn = false;
  const write = (text: string) => {
    if (text === '') return;
    const whole = endsInReturn && text.startsWith('\n') ? text.slice(1) : text;
    endsInReturn = text.endsWith('\r');
    parser.write(whole.replace(/\r\n?/g, '\n'));
  };
  try {
    for await (const piece of pieces) {
      decoder ??= new TextDecoder(encodingOf(piece), { fatal: true });
      write(decoder.decode(piece, { stream: true }));
    }
    write(decoder?.decode() ?? '');
    parser.close();
  } catch (cause) {
    if (cause instanceof TypeError) fail('bytes that are no text');
    throw cause;
  }
}

/** Parts are UTF-8 or UTF-16 (ECMA-376 part 2, 6.2.5); UTF-16 has a byte order mark. */
function encodingOf(piece: Uint8Array): string {
  if (piece[0] === 0xff && piece[1] === 0xfe) return 'utf-16le';
  return piece[0] === 0xfe && piece[1] === 0xff ? 'utf-16be' : 'utf-8';
}

/** Ends the reading of a workbook from any depth; caught in read-xlsx.ts, which returns what it says as a finding. */
export class WorkbookRefusal extends Error {
  readonly kind: 'damaged' | 'too-large';

  constructor(kind: WorkbookRefusal['kind'], problem: string) {
    super(problem);
    this.name = 'WorkbookRefusal';
    this.kind = kind;
  }
}

export const damaged = (problem: string): WorkbookRefusal => new WorkbookRefusal('damaged', problem);
export const tooLarge = (what: string): WorkbookRefusal => new WorkbookRefusal('too-large', what);
