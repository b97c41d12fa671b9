/** What a file is by its first bytes, in the words of a person: "a web page", "a RAR archive". */
export interface FileIdentity {
  readonly kind: string;
  /** The first line, where the file is text. */
  readonly firstLine: string | undefined;
}

interface Magic {
  readonly kind: string;
  readonly at: number;
  /** Hex. */
  readonly bytes: string;
}

/** Signatures as published by the formats' own specifications or the file(1) database; `at` in bytes from the start. */
const magics: readonly Magic[] = [
  { kind: 'a RAR archive', at: 0, bytes: '526172211a07' },
  { kind: 'a 7z archive', at: 0, bytes: '377abcaf271c' },
  { kind: 'a gzip file (.gz, .tgz)', at: 0, bytes: '1f8b' },
  { kind: 'an xz file', at: 0, bytes: 'fd377a585a00' },
  { kind: 'a bzip2 file', at: 0, bytes: '425a68' },
  { kind: 'a Zstandard file', at: 0, bytes: '28b52ffd' },
  { kind: 'an LZ4 file', at: 0, bytes: '04224d18' },
  { kind: 'a tar archive', at: 257, bytes: '7573746172' },
  { kind: 'a Windows cabinet file', at: 0, bytes: '4d534346' },
  { kind: 'a Windows program (.exe)', at: 0, bytes: '4d5a' },
  { kind: 'a Linux program', at: 0, bytes: '7f454c46' },
  { kind: 'a Windows installer or old Office file', at: 0, bytes: 'd0cf11e0a1b11ae1' },
  { kind: 'a Windows shortcut', at: 0, bytes: '4c0000000114020000000000c000000000000046' },
  { kind: 'a PNG picture', at: 0, bytes: '89504e470d0a1a0a' },
  { kind: 'a JPEG picture', at: 0, bytes: 'ffd8ff' },
  { kind: 'a GIF picture', at: 0, bytes: '474946383' },
  { kind: 'a PDF document', at: 0, bytes: '255044462d' },
  { kind: 'an Android sparse image', at: 0, bytes: '3aff26ed' },
  { kind: 'an Android boot image', at: 0, bytes: '414e44524f494421' },
  { kind: 'an Android update payload without its package', at: 0, bytes: '43724155' },
  { kind: 'a squashfs image', at: 0, bytes: '68737173' },
  { kind: 'an AppleDouble companion file (._name)', at: 0, bytes: '00051607' },
  { kind: 'an ext2/3/4 disk image', at: 1080, bytes: '53ef' },
  { kind: 'a CD or DVD image (.iso)', at: 32769, bytes: '4344303031' },
  { kind: 'a disk image', at: 510, bytes: '55aa' },
];

/**
 * What panels install, wherever it lies: AOSP update_engine (payload), libsparse (sparse_format.h), mkbootimg (boot
 * image).
 */
const panelImages: ReadonlySet<string> = new Set(['43724155', '3aff26ed', '414e44524f494421']);

/**
 * What the first bytes of a file are, where a panel could install it as it is; undefined where they say nothing of that
 * kind.
 */
export const panelImageOf = (head: Uint8Array): string | undefined =>
  magics.find(({ at, bytes }) => panelImages.has(bytes) && hexOf(head.subarray(at, at + 32)).startsWith(bytes))?.kind;

/** The trailer of an Apple disk image starts 512 bytes before the file's end. */
const diskImageTrailer = '6b6f6c79';

/** `head`: the first bytes (36 KiB show all that is known here); `last`: the last 512. */
export function identifyFile(head: Uint8Array, last: Uint8Array): FileIdentity {
  const text = textOf(head);
  if (text !== undefined) return { kind: kindOfText(text), firstLine: firstLineOf(text) };
  const found = magics.find(({ at, bytes }) => hexOf(head.subarray(at, at + 32)).startsWith(bytes));
  if (found !== undefined) return { kind: found.kind, firstLine: undefined };
  if (hexOf(last.subarray(0, 4)) === diskImageTrailer)
    return { kind: 'an Apple disk image (.dmg)', firstLine: undefined };
  return { kind: 'data of an unknown kind', firstLine: undefined };
}

const hexOf = (bytes: Uint8Array): string => [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');

/** The head as text, where it is: no control characters but white space; UTF-16 by its mark. */
function textOf(head: Uint8Array): string | undefined {
  const [first, second] = head;
  const wide = (first === 0xff && second === 0xfe) || (first === 0xfe && second === 0xff);
  if (wide) return new TextDecoder(first === 0xff ? 'utf-16le' : 'utf-16be').decode(head);
  const text = new TextDecoder('utf-8').decode(head);
  return /[\x00-\x08\x0e-\x1a\x1c-\x1f]/.test(text) || text.slice(0, -4).includes('\ufffd') ? undefined : text;
}

const kindsOfText: readonly (readonly [RegExp, string])[] = [
  [/^<!doctype html|^<html|^<head|^<body|^<script|^<meta/i, 'a web page'],
  [/^<\?xml.*<(html|!doctype html)/is, 'a web page'],
  [/^<\?xml.*<error/is, 'an error message from the download server'],
  [/^<\?xml|^<!doctype plist/i, 'an XML file'],
  [/^[{[]\s*["{[\]}0-9tfn-]/, 'a JSON answer from a web service'],
  [/^version https:\/\/git-lfs/i, 'a placeholder that stands for a large file kept elsewhere'],
  [/^\[InternetShortcut\]/i, 'a link to a web address'],
  [/^d\d+:announce/, 'a torrent file'],
  [/^%PDF-/, 'a PDF document'],
  [/^[0-9a-f]{32,128}([ *]|$)/i, 'a checksum list'],
  [/^#!/, 'a script'],
];

const kindOfText = (text: string): string => {
  const start = text.replace(/^\ufeff/, '').trimStart();
  return kindsOfText.find(([pattern]) => pattern.test(start))?.[1] ?? 'a text file';
};

const firstLineOf = (text: string): string =>
  (
    text
      .replace(/^\ufeff/, '')
      .trimStart()
      .split(/[\r\n]/, 1)[0] ?? ''
  ).slice(0, 80);
