import yauzl from 'yauzl';
import {
  type CentralRecord,
  type DirectoryBytes,
  type EntryName,
  type NameEntry,
  nameBytesOf,
} from '../../core/archive-format/read-central-directory.ts';
import type { LocalHeader } from '../../core/archive-format/read-local-header.ts';
import { extraIds, flagBits } from '../../core/archive-format/signatures.ts';

const strictUtf8 = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

/** Decodes a name by the library's own rules: UTF-8 where bit 11 says so, else CP437; the Unicode path extra wins. */
export const nameEntry: NameEntry = (flags, nameBytes, extra) => {
  const raw = asBuffer(nameBytes);
  const isNamedAgain = extra.fields.some(({ id }) => id === extraIds.unicodePath);
  if (!isNamedAgain && raw.every((byte) => byte >= 0x20 && byte < 0x7f)) {
    const text = raw.toString('latin1'); // printable ASCII is the same in every alphabet
    return { shown: text, plain: text, alphabetUnknown: false, brokenUtf8: false };
  }
  const fields = extra.fields.map(({ id, data }) => ({ id, data: asBuffer(data) }));
  const plain = inOnePiece(yauzl.getFileNameLowLevel(flags, raw, [], true));
  const shown = isNamedAgain ? yauzl.getFileNameLowLevel(flags, raw, fields, true) : plain;
  const saysUtf8 = (flags & flagBits.utf8) !== 0;
  const beyondAscii = nameBytes.some((byte) => byte > 0x7f);
  return {
    shown,
    plain,
    alphabetUnknown: beyondAscii && !saysUtf8 && shown === plain,
    brokenUtf8: beyondAscii && saysUtf8 && !isUtf8(nameBytes),
  };
};

/** The name in a local header; decoded only where it is not written as in the directory. */
export function nameLocalHeader(directory: DirectoryBytes, record: CentralRecord, local: LocalHeader): EntryName {
  const same =
    record.extraLength === 0 &&
    local.extra.fields.length === 0 &&
    ((record.flags ^ local.flags) & flagBits.utf8) === 0 &&
    Buffer.compare(local.nameBytes, nameBytesOf(directory, record)) === 0;
  return same ? record.name : nameEntry(local.flags, local.nameBytes, local.extra);
}

/** The library puts CP437 together letter by letter, and V8 would keep a node of 32 bytes for each of them. */
const inOnePiece = (text: string): string => Buffer.from(text, 'utf16le').toString('utf16le');

const asBuffer = (bytes: Uint8Array): Buffer => Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);

function isUtf8(bytes: Uint8Array): boolean {
  try {
    strictUtf8.decode(bytes);
    return true;
  } catch {
    return false;
  }
}
