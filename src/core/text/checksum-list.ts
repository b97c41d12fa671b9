import type { ManifestFile } from '../model/manifest.ts';

/** The algorithms that are compared; the length of the value tells them apart. */
const hashAlgorithms = ['SHA-512', 'SHA-384', 'SHA-256', 'SHA-224', 'SHA-1', 'MD5', 'CRC-32'] as const;

export type HashAlgorithm = (typeof hashAlgorithms)[number];

export interface ListedHash {
  readonly algorithm: HashAlgorithm;
  /** Lower hex. */
  readonly hex: string;
  /** Without folders; undefined for a bare value. */
  readonly fileName: string | undefined;
}

interface ChecksumList {
  readonly hashes: readonly ListedHash[];
  /** Lines that are no checksum, comment or frame in any known form. */
  readonly unreadable: readonly { readonly line: number; readonly text: string }[];
}

const byLength: ReadonlyMap<number, HashAlgorithm> = new Map([
  [32, 'MD5'],
  [40, 'SHA-1'],
  [56, 'SHA-224'],
  [64, 'SHA-256'],
  [96, 'SHA-384'],
  [128, 'SHA-512'],
]);

const byTag: readonly (readonly [RegExp, HashAlgorithm])[] = [
  [/^md5$/i, 'MD5'],
  [/^sha-?1$/i, 'SHA-1'],
  [/^sha(2-|-)?224$/i, 'SHA-224'],
  [/^sha(2-|-)?256$/i, 'SHA-256'],
  [/^sha(2-|-)?384$/i, 'SHA-384'],
  [/^sha(2-|-)?512$/i, 'SHA-512'],
];

/**
 * Optional backslash (escaped name), value, one space or tab, space or `*` for binary, name: GNU coreutils manual,
 * md5sum.
 */
const gnuLine = /^(\\?)([0-9a-f]{32,128})[ \t]+\*?(\S.*)$/i;
/** `SHA256 (name) = value`, BSD's --tag form; OpenSSL writes `SHA2-256(name)= value`. */
const taggedLine = /^(\\?)([a-z][a-z0-9/-]*) ?\((.+)\) ?= ?([0-9a-f]{32,128})$/i;
/** A value alone, or after its algorithm's name as web pages show it and PowerShell's Get-FileHash lists it. */
const labelledLine = /^(?:([a-z][a-z0-9-]*)(?: ?[:=] ?|[ \t]+))?([0-9a-f]{32,128})(?:[ \t]+(\S.*))?$/i;
/** `SHA256 hash of file.zip:`, certutil's heading; the value follows, in older versions with spaces. */
const headingLine = /^([a-z0-9]+) hash of (?:file )?(.+?):$/i;
const frameLine = /^([#;].*|CertUtil: .*|Algorithm\s+Hash(\s+Path)?|[- ]*)$/i;

/**
 * A line of a CRC-32 list, whose value of 8 digits would be found in any text: `name value` as simple file verification
 * has it (no document; after what programs of that kind write), `value name` as the script crc32 prints it, or a value
 * alone.
 */
const crcLines = [
  /^(?<name>\S.*?)[ \t]+\*?(?<value>[0-9a-f]{8})$/i,
  /^(?<value>[0-9a-f]{8})(?:[ \t]+\*?(?<name>\S.*))?$/i,
];

/**
 * Reads a checksum list in every common form; `text` may begin with a byte order mark and end its lines with CRLF. ONLY
 * CRC: its name says that it is a list of CRC-32 values.
 */
export function parseChecksumList(text: string, onlyCrc = false): ChecksumList {
  const hashes: ListedHash[] = [];
  const unreadable: { line: number; text: string }[] = [];
  let heading: string | undefined;
  withoutSignature(text.replace(/^\ufeff/, '').split(/\r\n|\n|\r/)).forEach((raw, index) => {
    const line = raw.trimEnd();
    const read = onlyCrc ? readCrcLine(line.trimStart()) : readLine(line.trimStart(), heading);
    heading = headingLine.exec(line)?.[2];
    if (read !== undefined) hashes.push(read);
    else if (heading === undefined && !frameLine.test(line)) {
      unreadable.push({ line: index + 1, text: line.slice(0, 80) });
    }
  });
  return { hashes, unreadable };
}

/** Blanks out the frame of a signed message (RFC 9580, 7), so that line numbers stay. */
function withoutSignature(lines: readonly string[]): readonly string[] {
  let inside: 'header' | 'signature' | undefined;
  return lines.map((line) => {
    if (line.startsWith('-----BEGIN PGP SIGNED')) inside = 'header';
    else if (line.startsWith('-----BEGIN PGP SIG')) inside = 'signature';
    else if (inside === undefined) return line;
    else if (line.startsWith('-----END') || (inside === 'header' && line.trim() === '')) inside = undefined;
    return '';
  });
}

function readCrcLine(line: string): ListedHash | undefined {
  if (/^[#;]/.test(line)) return undefined; // an example in a comment
  const { value, name } = crcLines.map((form) => form.exec(line)?.groups).find((groups) => groups !== undefined) ?? {};
  if (value === undefined) return undefined;
  const fileName = name === undefined ? undefined : lastPart(name, false);
  return { algorithm: 'CRC-32', hex: value.toLowerCase(), fileName };
}

function readLine(line: string, heading: string | undefined): ListedHash | undefined {
  const tagged = taggedLine.exec(line);
  if (tagged !== null) return listed(tagged[4], tagged[3], tagged[1] === '\\', tagged[2]);
  const gnu = gnuLine.exec(line);
  if (gnu !== null) return listed(gnu[2], gnu[3], gnu[1] === '\\');
  const spaced = heading === undefined ? undefined : /^([0-9a-f]{2} ?)+$/i.exec(line)?.[0].replaceAll(' ', '');
  if (spaced !== undefined) return listed(spaced, heading, false);
  const labelled = labelledLine.exec(line);
  return labelled === null ? undefined : listed(labelled[2], labelled[3] ?? heading, false, labelled[1]);
}

function listed(hex = '', name: string | undefined, escaped: boolean, tag?: string): ListedHash | undefined {
  const algorithm = byLength.get(hex.length);
  const said = tag === undefined ? algorithm : byTag.find(([pattern]) => pattern.test(tag))?.[1];
  if (algorithm === undefined || said !== algorithm) return undefined;
  return { algorithm, hex: hex.toLowerCase(), fileName: name === undefined ? undefined : lastPart(name, escaped) };
}

function lastPart(name: string, escaped: boolean): string {
  const plain = escaped
    ? name.replace(/\\([\\nr])/g, (_, char) => ({ n: '\n', r: '\r' })[char as string] ?? '\\')
    : name;
  return plain.split(escaped ? '/' : /[/\\]/).at(-1) ?? plain;
}

/**
 * The list that `sha256sum -c` reads from the root of the stick: lower hex, two spaces, `/`, LF, sorted as the manifest
 * is. A name with a backslash or a line break is escaped the way GNU coreutils does it (manual, "md5sum invocation");
 * FAT and exFAT hold neither, other volumes may.
 */
export function checksumList(files: readonly ManifestFile[]): string {
  return files.map(({ path, sha256 }) => `${lineOf(path, sha256)}\n`).join('');
}

function lineOf(path: string, sha256: string): string {
  const escaped = path.replaceAll('\\', '\\\\').replaceAll('\n', '\\n').replaceAll('\r', '\\r');
  return `${escaped === path ? '' : '\\'}${sha256}  ${escaped}`;
}
