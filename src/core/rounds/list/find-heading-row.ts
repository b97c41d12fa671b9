import type { ListKind } from '../../findings/catalogue/room.ts';
import { type RoomField, roomFields } from '../../model/room.ts';
import type { TableRow } from './list-table.ts';
import { type Columns, findNamedColumns, matchColumns } from './match-columns.ts';

/** Titles and dates stand above the headings, rarely more than a few lines. */
const rowsToLookAt = 30;

export interface HeadingRow {
  /** Into the rows, from 0; undefined where the list has no headings at all. */
  readonly index: number | undefined;
  readonly headings: readonly string[];
  /** Columns by `--columns`, memory and the usual words, in this order. */
  readonly columns: Columns;
}

export type NamedFields = Readonly<Partial<Record<RoomField, string>>>;
/** What an earlier reading of the same headings was told. */
export type Recall = (headings: readonly string[]) => Columns | undefined;

/**
 * The row that the headings stand in: the one among the first rows that holds most of what was named, else what is
 * remembered, else most of the usual headings. Where nothing is recognised, the first row with as many texts as a list
 * has.
 */
export function findHeadingRow(rows: readonly TableRow[], named: NamedFields, recall: Recall): HeadingRow | undefined {
  let best: { index: number; score: number } | undefined;
  for (const [index, { cells }] of rows.slice(0, rowsToLookAt).entries()) {
    const score = scoreOf(cells, named, recall);
    if (score > 0 && (best === undefined || score > best.score)) best = { index, score };
  }
  const index = best?.index ?? firstFullRow(rows);
  if (index === undefined) return undefined;
  const headings = rows[index]?.cells ?? [];
  return { index, headings, columns: columnsOf(headings, named, recall) };
}

function columnsOf(headings: readonly string[], named: NamedFields, recall: Recall): Columns {
  const byName = findNamedColumns(headings, named).columns;
  const taken = new Set(Object.values(byName));
  const columns: Partial<Record<RoomField, number>> = { ...byName };
  for (const source of [recall(headings) ?? {}, matchColumns(headings).columns]) {
    for (const field of roomFields) {
      const column = source[field];
      if (column === undefined || columns[field] !== undefined || taken.has(column)) continue;
      columns[field] = column;
      taken.add(column);
    }
  }
  return columns;
}

/** One lone usual word is as likely a title ("Rooms"), so it takes two, or one that was named. */
function scoreOf(cells: readonly string[], named: NamedFields, recall: Recall): number {
  const byName = Object.keys(findNamedColumns(cells, withoutOrdinals(named)).columns).length;
  const usual = Object.keys(matchColumns(cells).columns).length;
  const known = recall(cells) === undefined ? 0 : 50;
  return byName * 100 + known + (usual >= 2 ? usual : 0);
}

const withoutOrdinals = (named: NamedFields): NamedFields =>
  Object.fromEntries(Object.entries(named).filter(([, heading]) => !heading.startsWith('#')));

function firstFullRow(rows: readonly TableRow[]): number | undefined {
  const filled = rows.slice(0, rowsToLookAt).map(({ cells }) => cells.filter((cell) => cell.trim() !== '').length);
  const most = Math.max(0, ...filled);
  return most < 2 ? undefined : filled.findIndex((count) => count >= Math.max(2, most - 1));
}

type ListIdentity =
  | { readonly kind: 'text' }
  | { readonly kind: 'zip' }
  | { readonly kind: 'other'; readonly what: ListKind };

const other = (what: ListKind): ListIdentity => ({ kind: 'other', what });

/**
 * What a file is by its first bytes; its name is not asked. `zip` may be a workbook: its entries tell. Signatures:
 * compound file D0 CF 11 E0 A1 B1 1A E1 (MS-CFB 2.2), local header 50 4B 03 04 (APPNOTE 4.3.7), PDF %PDF- (ISO 32000-1
 * 7.5.2), PNG (ISO 15948 5.2), JPEG FF D8 FF (ISO 10918-1 B.1.1), gzip 1F 8B (RFC 1952 2.3.1), RTF {\rtf (from memory).
 */
export function identifyList(bytes: Uint8Array): ListIdentity {
  const starts = (...signature: readonly number[]): boolean => signature.every((byte, index) => bytes[index] === byte);
  const head = new TextDecoder('latin1').decode(bytes.subarray(0, 1024));
  if (bytes.length === 0) return other('empty');
  if (starts(0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1)) return other(isEncrypted(bytes) ? 'encrypted' : 'xls');
  if (starts(0x50, 0x4b, 0x03, 0x04)) return { kind: 'zip' };
  if (starts(0x50, 0x4b, 0x05, 0x06)) return other('archive');
  if (head.includes('%PDF-')) return other('pdf');
  if (starts(0x89, 0x50, 0x4e, 0x47) || starts(0xff, 0xd8, 0xff) || head.startsWith('GIF8')) return other('picture');
  if (starts(0x1f, 0x8b) || starts(0x37, 0x7a, 0xbc, 0xaf) || head.startsWith('Rar!')) return other('archive');
  if (head.startsWith('{\\rtf')) return other('rtf');
  // BIFF2 to BIFF5 streams without a compound file begin with a BOF record ([MS-XLS] 2.4.21; from memory for the older
  // ones).
  if (bytes[0] === 0x09 && [0x00, 0x02, 0x04, 0x08].includes(bytes[1] ?? -1) && bytes[3] === 0x00) return other('xls');
  const words = head
    .replaceAll('\0', '')
    .replace(/^(ï»¿|ÿþ|þÿ)/, '')
    .trimStart()
    .toLowerCase();
  if (/^(<!doctype html|<html|<head|<body|<table|<meta)/.test(words)) return other('html');
  if (/^<\?xml/.test(words)) return other(words.includes('<html') ? 'html' : 'xml');
  return isText(bytes) ? { kind: 'text' } : other('binary');
}

/**
 * An encrypted workbook is a compound file with a stream EncryptedPackage (MS-OFFCRYPTO 2.3.4.4); its name is UTF-16LE.
 */
function isEncrypted(bytes: Uint8Array): boolean {
  return new TextDecoder('latin1').decode(bytes).includes([...'EncryptedPackage'].join('\0'));
}

/** Zeros stand in UTF-16 only, and there in every second place; other control characters are rare in any text. */
function isText(bytes: Uint8Array): boolean {
  const head = bytes.subarray(0, 4096);
  const marked = (bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff);
  const zeros = head.filter((byte) => byte === 0).length;
  const odd = head.filter(
    (byte) => byte < 32 && ![0, 7, 9, 10, 11, 12, 13, 26, 27, 28, 29, 30, 31].includes(byte),
  ).length;
  const evenZeros = head.filter((byte, index) => byte === 0 && index % 2 === 0).length;
  const oneSided = evenZeros < zeros / 8 || evenZeros > (zeros * 7) / 8;
  return odd <= head.length / 32 && (zeros === 0 || marked || (oneSided && zeros > head.length / 4));
}
