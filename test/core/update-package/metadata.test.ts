import { BinaryWriter, WireType } from '@bufbuild/protobuf/wire';
import { describe, expect, it } from 'vitest';
import { compareMetadataForms } from '../../../src/core/checks/update/check-metadata.ts';
import { parseMetadataText } from '../../../src/core/update-package/metadata.ts';
import { parseMetadataProtobuf } from '../../../src/core/update-package/parse-metadata-protobuf.ts';

const text = `ota-required-cache=0
ota-type=AB
post-build=quillhaven/lantern/lantern75:11/RQ1A/20240117:user/release-keys
post-build-incremental=20240117
post-sdk-level=30
post-security-patch-level=2024-01-05
post-timestamp=1705485600
pre-device=lantern75|lantern86
ota-property-files=payload.bin:679:343,metadata:69:379  
vendor-colour=blue
`;

/**
 * The same in protobuf, written out by hand as tag, length, value after AOSP's ota_metadata.proto: type 1,
 * property_files 4, precondition 5 (device 1), postcondition 6 (build 2, incremental 3, timestamp 4, sdk 5, patch 6).
 */
function protobuf(change: { wipe?: boolean; device?: string } = {}): Uint8Array {
  const string = (field: number, value: string): number[] => [(field << 3) | 2, value.length, ...Buffer.from(value)];
  const message = (field: number, bytes: number[]): number[] => {
    const length = bytes.length < 128 ? [bytes.length] : [(bytes.length & 127) | 128, bytes.length >> 7];
    return [(field << 3) | 2, ...length, ...bytes];
  };
  // 1705485600 = 0x65a7a520 as a varint, seven bits at a time from the low end.
  const timestamp = [0x20, 0xa0, 0xca, 0x9e, 0xad, 0x06];
  const post = [
    ...string(2, 'quillhaven/lantern/lantern75:11/RQ1A/20240117:user/release-keys'),
    ...string(3, '20240117'),
    ...timestamp,
    ...string(5, '30'),
    ...string(6, '2024-01-05'),
  ];
  return Uint8Array.from([
    ...[0x08, 0x01],
    ...(change.wipe === true ? [0x10, 0x01] : []),
    ...message(4, [...string(1, 'ota-property-files'), ...string(2, 'payload.bin:679:343,metadata:69:379  ')]),
    ...message(5, [...string(1, change.device ?? 'lantern75'), ...string(1, 'lantern86')]),
    ...message(6, post),
  ]);
}

describe('the two forms of the metadata', () => {
  it('say the same where they come from the same build', () => {
    const fromText = parseMetadataText(text);
    const fromProtobuf = parseMetadataProtobuf(protobuf());
    expect(fromText).toMatchObject({ type: 'AB', preDevices: ['lantern75', 'lantern86'], postTimestamp: '1705485600' });
    expect(fromText && fromProtobuf && compareMetadataForms(fromText, fromProtobuf)).toEqual([]);
    expect(fromText && fromProtobuf && { ...fromText, propertyFiles: [] }).toEqual({
      ...fromProtobuf,
      propertyFiles: [],
    });
  });

  it('are told apart field by field', () => {
    const fromText = parseMetadataText(text);
    const fromProtobuf = parseMetadataProtobuf(protobuf({ wipe: true, device: 'sedge65' }));
    expect(fromText && fromProtobuf && compareMetadataForms(fromText, fromProtobuf)).toEqual([
      { field: 'ota-wipe', text: '', protobuf: 'yes' },
      { field: 'pre-device', text: 'lantern75|lantern86', protobuf: 'lantern86|sedge65' },
    ]);
  });

  it('BRICK has no word in the text form, so its absence there is no contradiction', () => {
    const brick = new BinaryWriter().tag(1, WireType.Varint).int32(3).finish();
    const fromText = parseMetadataText('pre-device=lantern75\n');
    const fromProtobuf = parseMetadataProtobuf(brick);
    expect(fromProtobuf?.type).toBe('BRICK');
    expect(fromText && fromProtobuf && compareMetadataForms(fromText, fromProtobuf)).toMatchObject([
      { field: 'pre-device' },
    ]);
  });
});

describe('parseMetadataText', () => {
  it('trims, takes CRLF, skips lines without "=", and takes the first of two as AOSP does', () => {
    const read = parseMetadataText(
      ' ota-type = AB \r\n# remark\r\npre-device=a\r\npre-device=b\r\nota-wipe=no\nota-wipe=yes',
    );
    expect(read).toMatchObject({ type: 'AB', preDevices: ['a'], wipe: true });
    expect(read?.twice).toEqual([
      { key: 'pre-device', values: ['a', 'b'] },
      { key: 'ota-wipe', values: ['no', 'yes'] },
    ]);
  });

  it.each(['', 'META-INF/COM/ANDROID/METADATA', '<html>a=b</html>', 'colour=blue\n'])('%j is no metadata', (other) => {
    expect(parseMetadataText(other)).toBeUndefined();
  });

  it('reads serial numbers as AOSP splits them', () => {
    expect(parseMetadataText('ota-type=AB\nserialno=Q1| Q2\n')?.serialNumbers).toEqual(['Q1', 'Q2']);
  });

  it('reads a key that is also a name of JavaScript objects', () => {
    expect(parseMetadataText('__proto__=x\nconstructor=y\nota-type=AB')?.type).toBe('AB');
  });
});

describe('parseMetadataProtobuf', () => {
  it('skips fields that it does not know, of every wire type', () => {
    const writer = new BinaryWriter();
    writer.tag(90, WireType.Bit64).fixed64(1n).tag(91, WireType.Bit32).fixed32(1).tag(92, WireType.Varint).uint32(7);
    writer.tag(1, WireType.Varint).int32(1).tag(93, WireType.LengthDelimited).string('later');
    expect(parseMetadataProtobuf(writer.finish())?.type).toBe('AB');
  });

  it('an empty message says nothing, and a broken one is none', () => {
    expect(parseMetadataProtobuf(new Uint8Array())).toMatchObject({ type: undefined, preDevices: [] });
    expect(parseMetadataProtobuf(Uint8Array.from([0x2a, 0x7f, 1]))).toBeUndefined();
    expect(parseMetadataProtobuf(protobuf().subarray(0, 40))).toBeUndefined();
  });
});
