import { BinaryReader, WireType } from '@bufbuild/protobuf/wire';
import type { MetadataReading } from './metadata.ts';

/** No real package comes near; a message with more of one field is not worth the memory. */
const largestCount = 4096;

const types: Readonly<Record<number, string>> = { 1: 'AB', 2: 'BLOCK', 3: 'BRICK' };

interface DeviceState {
  devices: string[];
  builds: string[];
  incremental: string | undefined;
  timestamp: string | undefined;
  sdkLevel: string | undefined;
  securityPatchLevel: string | undefined;
}

/**
 * Reads the protobuf form, message OtaMetadata; undefined where the bytes are not that message.
 * Source for every field number: AOSP build/tools/releasetools/ota_metadata.proto.
 */
export function parseMetadataProtobuf(bytes: Uint8Array): MetadataReading | undefined {
  try {
    return readOtaMetadata(bytes);
  } catch {
    // The library throws on every kind of malformed message; which one does not matter to anybody here.
    return undefined;
  }
}

function readOtaMetadata(bytes: Uint8Array): MetadataReading {
  const reader = new BinaryReader(bytes);
  const found = { type: 0, wipe: false, downgrade: false, requiredCache: '0' };
  const lists: { list: string; text: string }[] = [];
  let pre = noState();
  let post = noState();
  while (reader.pos < reader.len) {
    const [field, wire] = reader.tag();
    if (field === 1 && wire === WireType.Varint) found.type = reader.int32();
    else if (field === 2 && wire === WireType.Varint) found.wipe = reader.bool();
    else if (field === 3 && wire === WireType.Varint) found.downgrade = reader.bool();
    else if (field === 4 && wire === WireType.LengthDelimited) push(lists, readPropertyFiles(reader.bytes()));
    else if (field === 5 && wire === WireType.LengthDelimited) pre = readDeviceState(reader.bytes(), pre);
    else if (field === 6 && wire === WireType.LengthDelimited) post = readDeviceState(reader.bytes(), post);
    else if (field === 8 && wire === WireType.Varint) found.requiredCache = reader.int64().toString();
    else reader.skip(wire, field);
  }
  return {
    type: types[found.type] ?? (found.type === 0 ? undefined : `type ${found.type}`),
    wipe: found.wipe,
    downgrade: found.downgrade,
    preDevices: pre.devices,
    preBuilds: pre.builds,
    preBuildIncremental: pre.incremental,
    postBuilds: post.builds,
    postBuildIncremental: post.incremental,
    postTimestamp: post.timestamp,
    postSdkLevel: post.sdkLevel,
    postSecurityPatchLevel: post.securityPatchLevel,
    requiredCacheBytes: found.requiredCache,
    serialNumbers: [],
    propertyFiles: lists,
    twice: [],
  };
}

/** Message DeviceState. A field that comes again replaces the one before, a list goes on: protobuf's own rule. */
function readDeviceState(bytes: Uint8Array, into: DeviceState): DeviceState {
  const reader = new BinaryReader(bytes);
  while (reader.pos < reader.len) {
    const [field, wire] = reader.tag();
    if (field === 4 && wire === WireType.Varint) into.timestamp = reader.int64().toString();
    else if (wire !== WireType.LengthDelimited) reader.skip(wire, field);
    else if (field === 1) push(into.devices, reader.string());
    else if (field === 2) push(into.builds, reader.string());
    else if (field === 3) into.incremental = reader.string() || undefined;
    else if (field === 5) into.sdkLevel = reader.string() || undefined;
    else if (field === 6) into.securityPatchLevel = reader.string() || undefined;
    else reader.skip(wire, field);
  }
  return into;
}

/** One entry of `map<string, string> property_files`: key 1, value 2. */
function readPropertyFiles(bytes: Uint8Array): { list: string; text: string } {
  const reader = new BinaryReader(bytes);
  const entry = { list: '', text: '' };
  while (reader.pos < reader.len) {
    const [field, wire] = reader.tag();
    if (field === 1 && wire === WireType.LengthDelimited) entry.list = reader.string();
    else if (field === 2 && wire === WireType.LengthDelimited) entry.text = reader.string();
    else reader.skip(wire, field);
  }
  return entry;
}

function push<T>(list: T[], item: T): void {
  if (list.length >= largestCount) throw new RangeError('too many values');
  list.push(item);
}

const noState = (): DeviceState => ({
  devices: [],
  builds: [],
  incremental: undefined,
  timestamp: undefined,
  sdkLevel: undefined,
  securityPatchLevel: undefined,
});
