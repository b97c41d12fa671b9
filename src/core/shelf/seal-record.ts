import { type DocumentReading, parseDocument, type Sha256, sealDocument } from '../sealed/sealed-document.ts';
import { type ShelfRecord, shelfRecordSchema } from './shelf-record.ts';

/** Adds the digest that lets any later reader see whether the record is whole. */
export const sealRecord = (record: Omit<ShelfRecord, 'selfSha256'>, sha256: Sha256): ShelfRecord =>
  sealDocument(record, sha256);

export const serialiseRecord = (record: ShelfRecord): string => `${JSON.stringify(record, null, 2)}\n`;

/** Reads a record's text; it is whole only if its own digest matches. Never throws on bad text. */
export const parseRecord = (text: string, sha256: Sha256): DocumentReading<ShelfRecord> =>
  parseDocument(text, 'shelf-record', { 1: shelfRecordSchema }, sha256);
