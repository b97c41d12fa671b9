import { BinaryReader, WireType } from '@bufbuild/protobuf/wire';
import { parseKeyValues } from './metadata.ts';

export const payloadPath = 'payload.bin';

/** Bytes of a version 2 header. */
export const payloadHeaderBytes = 24;

/** Nothing in a payload is announced beyond this; larger numbers are not offsets but damage. */
const largestAnnounced = 2n ** 48n;

export type PayloadHeader =
  | { readonly state: 'not-a-payload'; readonly firstBytes: string }
  | { readonly state: 'other-version'; readonly version: string }
  | { readonly state: 'cut-off'; readonly announcedBytes: string }
  | { readonly state: 'read'; readonly manifestBytes: number; readonly signatureBytes: number };

/**
 * Reads the head of `payload.bin`. `head` holds its first bytes (at least 24 unless the payload is shorter);
 * `payloadBytes` is the size of the whole. Big-endian. Source: AOSP update_engine/update_metadata.proto, struct
 * delta_update_file.
 */
export function parsePayloadHeader(head: Uint8Array, payloadBytes: number): PayloadHeader {
  const view = new DataView(head.buffer, head.byteOffset, head.byteLength);
  // +0: magic "CrAU".
  if (head.length < 4 || view.getUint32(0) !== 0x43724155) return { state: 'not-a-payload', firstBytes: hex(head) };
  if (head.length < payloadHeaderBytes) return { state: 'cut-off', announcedBytes: String(payloadHeaderBytes) };
  // +4: major version, 8 bytes.
  const version = view.getBigUint64(4);
  if (version !== 2n) return { state: 'other-version', version: version.toString() };
  // +12: manifest size, 8 bytes; +20: metadata signature size, 4 bytes.
  const manifestBytes = view.getBigUint64(12);
  const signatureBytes = view.getUint32(20);
  const announced = BigInt(payloadHeaderBytes) + manifestBytes + BigInt(signatureBytes);
  if (announced > largestAnnounced || announced > BigInt(payloadBytes)) {
    return { state: 'cut-off', announcedBytes: announced.toString() };
  }
  return { state: 'read', manifestBytes: Number(manifestBytes), signatureBytes };
}

const hex = (bytes: Uint8Array): string =>
  Array.from(bytes.subarray(0, 4), (byte) => byte.toString(16).padStart(2, '0')).join(' ');

export type ManifestReading =
  | { readonly state: 'unreadable' }
  | {
      readonly state: 'read';
      readonly partitions: readonly PayloadPartition[];
      /** Partitions beyond the first thousand, which nobody would read in a list. */
      readonly partitionsLeftOut: number;
      /** 0 is a full payload; any other number is built upon what the panel already has. */
      readonly minorVersion: number;
      /** Only some of the panel's partitions are replaced. */
      readonly partial: boolean;
    };

interface PayloadPartition {
  readonly name: string;
  /** Size after the update; undefined where the manifest does not say. */
  readonly bytes: number | undefined;
}

const largestList = 1000;

/**
 * Reads the manifest of a payload, message DeltaArchiveManifest, as far as the partitions and the kind of payload.
 * Source for every field number: AOSP update_engine/update_metadata.proto.
 */
export function parsePayloadManifest(bytes: Uint8Array): ManifestReading {
  try {
    return readManifest(bytes);
  } catch {
    // The library throws on every kind of malformed message.
    return { state: 'unreadable' };
  }
}

function readManifest(bytes: Uint8Array): ManifestReading {
  const reader = new BinaryReader(bytes);
  const partitions: PayloadPartition[] = [];
  const found = { minorVersion: 0, partial: false, leftOut: 0 };
  while (reader.pos < reader.len) {
    const [field, wire] = reader.tag();
    if (field === 12 && wire === WireType.Varint) found.minorVersion = reader.uint32();
    else if (field === 16 && wire === WireType.Varint) found.partial = reader.bool();
    else if (field === 13 && wire === WireType.LengthDelimited) {
      const partition = readPartition(reader.bytes());
      if (partitions.length < largestList) partitions.push(partition);
      else found.leftOut += 1;
    } else reader.skip(wire, field);
  }
  return {
    state: 'read',
    partitions,
    partitionsLeftOut: found.leftOut,
    minorVersion: found.minorVersion,
    partial: found.partial,
  };
}

/** Message PartitionUpdate: partition_name 1 (required), new_partition_info 7. */
function readPartition(bytes: Uint8Array): PayloadPartition {
  const reader = new BinaryReader(bytes);
  let name: string | undefined;
  let size: number | undefined;
  while (reader.pos < reader.len) {
    const [field, wire] = reader.tag();
    if (field === 1 && wire === WireType.LengthDelimited) name = reader.string();
    else if (field === 7 && wire === WireType.LengthDelimited) size = readSize(reader.bytes());
    else reader.skip(wire, field);
  }
  if (name === undefined) throw new RangeError('a partition without a name');
  return { name, bytes: size };
}

/** Message PartitionInfo: size 1. */
function readSize(bytes: Uint8Array): number | undefined {
  const reader = new BinaryReader(bytes);
  let size: number | undefined;
  while (reader.pos < reader.len) {
    const [field, wire] = reader.tag();
    if (field === 1 && wire === WireType.Varint) size = Number(reader.uint64());
    else reader.skip(wire, field);
  }
  return size;
}

/** What `payload_properties.txt` says of the payload; keys of vendors are left alone. */
export interface PayloadProperties {
  readonly fileHash: string | undefined;
  readonly fileSize: string | undefined;
  readonly metadataHash: string | undefined;
  readonly metadataSize: string | undefined;
  /** The panel erases the user's data when it takes the package. */
  readonly powerwash: boolean;
}

export const payloadPropertiesPath = 'payload_properties.txt';

/**
 * Reads the properties. `POWERWASH=1` counts wherever it stands in the text, because AOSP's recovery looks for it that
 * way (install/install.cpp, PerformPowerwashIfRequired). Keys: AOSP
 * update_engine/payload_generator/payload_properties.cc.
 */
export function parsePayloadProperties(text: string): PayloadProperties {
  const all = parseKeyValues(text);
  const one = (key: string): string | undefined => all.get(key)?.[0] || undefined;
  return {
    fileHash: one('FILE_HASH'),
    fileSize: one('FILE_SIZE'),
    metadataHash: one('METADATA_HASH'),
    metadataSize: one('METADATA_SIZE'),
    powerwash: text.includes('POWERWASH=1'),
  };
}
