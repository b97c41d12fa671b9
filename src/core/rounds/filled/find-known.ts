import type { RoundRecord, Visit } from '../../model/round-record.ts';
import type { UnsealedRecord } from '../records/seal-record.ts';
import type { FilledRow } from './read-filled-row.ts';

type Wanted = Extract<UnsealedRecord, { kind: 'visit' | 'approval' }>;

/** The record that says already what a row says: everything that the row names is equal; a minute is as exact as a list is. */
export function findKnown(row: FilledRow, wanted: Wanted, records: readonly RoundRecord[]): Visit | undefined {
  if (wanted.kind !== 'visit') return undefined;
  const { said, wish } = row;
  return records.find(
    (record): record is Visit =>
      record.kind === 'visit' &&
      (record.id === wanted.id ||
        (record.room === wanted.room &&
          record.outcome === wanted.outcome &&
          record.buildAfter === wanted.buildAfter &&
          plain(record.text) === plain(wanted.text) &&
          (wish.stick === undefined || record.stick === wanted.stick) &&
          (said.who === undefined || record.who === said.who) &&
          (said.at === undefined || minuteOf(record.at) === minuteOf(said.at)))),
  );
}

const minuteOf = (at: string): number => Math.floor(Date.parse(at) / 60_000);
const plain = (text: string | null): string => (text ?? '').replace(/\s+/g, ' ').trim();

/** What makes the id of a row's record: the same row of the same list has the same id, at every desk. */
export const contentOfRow = ({ said, wish }: FilledRow, wanted: Wanted): string =>
  JSON.stringify([
    'stickwright/filled-row/1',
    wanted.room,
    ...(wanted.kind === 'visit'
      ? [wanted.outcome, wanted.buildAfter, plain(wanted.text), wish.stick ?? null]
      : [wanted.kind, wanted.by]),
    said.at === undefined ? null : minuteOf(said.at),
    said.who ?? null,
  ]);

/** A UUID of version 8 (RFC 9562, section 5.8) from the first bits of a SHA-256. */
export function idFromDigest(sha256: string): string {
  const variant = '89ab'[Number.parseInt(sha256.charAt(16), 16) % 4];
  return [
    sha256.slice(0, 8),
    sha256.slice(8, 12),
    `8${sha256.slice(13, 16)}`,
    `${variant}${sha256.slice(17, 20)}`,
    sha256.slice(20, 32),
  ].join('-');
}
