import { BinaryReader, WireType } from '@bufbuild/protobuf/wire';

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
