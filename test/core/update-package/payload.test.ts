import { describe, expect, it } from 'vitest';
import { parsePropertyFiles } from '../../../src/core/update-package/metadata.ts';
import {
  parsePayloadHeader,
  parsePayloadManifest,
  parsePayloadProperties,
} from '../../../src/core/update-package/parse-payload.ts';
import { makeManifest } from '../../fixtures/update-packages/make-payload.ts';

function header(manifestBytes: bigint, signatureBytes: number, version = 2n): Buffer {
  const bytes = Buffer.alloc(24);
  bytes.write('CrAU', 'latin1');
  bytes.writeBigUInt64BE(version, 4);
  bytes.writeBigUInt64BE(manifestBytes, 12);
  bytes.writeUInt32BE(signatureBytes, 20);
  return bytes;
}

// Layout: AOSP update_engine/update_metadata.proto, struct delta_update_file.
describe('parsePayloadHeader', () => {
  it("reads the head of AOSP's own small A/B package", () => {
    // First 24 bytes of payload.bin in ota_002_package.zip, whose METADATA_SIZE is 563 = 24 + 539.
    const head = Buffer.from('437241550000000000000002000000000000021b00000108', 'hex');
    expect(parsePayloadHeader(head, 1392)).toEqual({ state: 'read', manifestBytes: 539, signatureBytes: 264 });
  });

  it.each([
    ['a manifest beyond the payload', header(1000n, 0), 500, '1024'],
    ['a manifest beyond every number', header(2n ** 64n - 1n, 0), 500, '18446744073709551639'],
    ['a signature beyond the payload', header(10n, 0xffffffff), 500, '4294967329'],
  ])('%s is cut off', (_name, head, bytes, announcedBytes) => {
    expect(parsePayloadHeader(head, bytes)).toEqual({ state: 'cut-off', announcedBytes });
  });

  it('names what is something else', () => {
    expect(parsePayloadHeader(Buffer.from('PK\x03\x04'), 4)).toEqual({
      state: 'not-a-payload',
      firstBytes: '50 4b 03 04',
    });
    expect(parsePayloadHeader(Buffer.alloc(0), 0)).toEqual({ state: 'not-a-payload', firstBytes: '' });
    expect(parsePayloadHeader(header(1n, 1, 1n), 500)).toEqual({ state: 'other-version', version: '1' });
    expect(parsePayloadHeader(header(1n, 1).subarray(0, 9), 9)).toEqual({ state: 'cut-off', announcedBytes: '24' });
  });
});

describe('parsePayloadManifest', () => {
  it('lists partitions and the kind of payload', () => {
    const partitions = [
      { name: 'system', bytes: 5_000_000_000 },
      { name: 'vendor', bytes: 0 },
    ];
    expect(parsePayloadManifest(makeManifest({ partitions, minorVersion: 6 }))).toEqual({
      state: 'read',
      partitions,
      partitionsLeftOut: 0,
      minorVersion: 6,
      partial: false,
    });
  });

  it('keeps a list that a person would read, and counts the rest', () => {
    const partitions = Array.from({ length: 1500 }, (_, index) => ({ name: `p${index}`, bytes: 1 }));
    const read = parsePayloadManifest(makeManifest({ partitions }));
    expect(read.state === 'read' && [read.partitions.length, read.partitionsLeftOut]).toEqual([1000, 500]);
  });

  it('a cut manifest and one with a nameless partition are unreadable', () => {
    const manifest = makeManifest({ partitions: [{ name: 'system', bytes: 1 }] });
    expect(parsePayloadManifest(manifest.subarray(0, -3))).toEqual({ state: 'unreadable' });
    expect(parsePayloadManifest(Uint8Array.from([0x6a, 0x00]))).toEqual({ state: 'unreadable' });
  });
});

describe('parsePayloadProperties', () => {
  it('tolerates keys of vendors and finds the wipe wherever recovery would', () => {
    const text = 'FILE_HASH=a=\r\nFILE_SIZE=1\nMETADATA_HASH=b=\nMETADATA_SIZE=2\nVENDOR_NOTE=x\n';
    expect(parsePayloadProperties(text)).toEqual({
      fileHash: 'a=',
      fileSize: '1',
      metadataHash: 'b=',
      metadataSize: '2',
      powerwash: false,
    });
    expect(parsePayloadProperties(`${text}POWERWASH=1\n`).powerwash).toBe(true);
    expect(parsePayloadProperties(`${text}POWERWASH=0\n`).powerwash).toBe(false);
  });
});

describe('parsePropertyFiles', () => {
  it("reads the example of AOSP's ota_utils.py, padded as it is", () => {
    expect(parsePropertyFiles('payload.bin:679:343,payload_properties.txt:378:45,metadata:69:379  ')).toEqual([
      { name: 'payload.bin', offset: 679, bytes: 343 },
      { name: 'payload_properties.txt', offset: 378, bytes: 45 },
      { name: 'metadata', offset: 69, bytes: 379 },
    ]);
  });

  it.each(['', 'payload.bin', 'a:1', 'a:1:-2', 'a:1:2,', 'a:9999999999999999:1', 'metadata:               '])(
    '%j is no list of places',
    (text) => {
      expect(parsePropertyFiles(text)).toBeUndefined();
    },
  );
});
