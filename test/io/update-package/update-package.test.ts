import { BinaryWriter, WireType } from '@bufbuild/protobuf/wire';
import { describe, expect, it } from 'vitest';
import {
  makeZip,
  metadataName,
  metadataText,
  type PackageEntry,
  usualMetadata,
} from '../../fixtures/update-packages/make-package.ts';
import { makePayload, propertiesOf } from '../../fixtures/update-packages/make-payload.ts';
import { readPackage } from '../../fixtures/update-packages/read-package.ts';

const payload = makePayload({
  partitions: [
    { name: 'boot', bytes: 67_108_864 },
    { name: 'system', bytes: 3_221_225_472 },
  ],
});
const metadata: PackageEntry = { name: metadataName, content: metadataText(usualMetadata) };
const payloadEntry: PackageEntry = { name: 'payload.bin', content: payload };
const properties: PackageEntry = { name: 'payload_properties.txt', content: propertiesOf(payload) };

const unsigned = ['update/not-signed'];
const sound = [...unsigned, 'update/package', 'update/payload-partitions'];

describe('an A/B package', () => {
  it.each([
    ['properties after the payload', [metadata, payloadEntry, properties]],
    ['properties before the payload', [properties, metadata, payloadEntry]],
    ['metadata last', [properties, payloadEntry, metadata]],
  ])('is sound with %s', async (_name, entries) => {
    const { codes, facts } = await readPackage(await makeZip(entries));
    expect(codes).toEqual(sound);
    expect(facts.payload?.header).toMatchObject({ manifest: { partitions: [{ name: 'boot' }, { name: 'system' }] } });
  });

  it('is not hashed for a signature that it does not have', async () => {
    const { facts } = await readPackage(await makeZip([metadata, payloadEntry, properties]));
    expect(facts.signature).toEqual({ state: 'none' });
  });

  it.each([
    ['its last byte', payload.length - 1, ['FILE_HASH']],
    ['its manifest', 40, ['FILE_HASH', 'METADATA_HASH']],
  ])('with a payload changed in %s', async (_name, at, keys) => {
    const other = Buffer.from(payload);
    other[at] = (other[at] ?? 0) ^ 1;
    const run = await readPackage(await makeZip([metadata, { ...payloadEntry, content: other }, properties]));
    const differing = run.findings.filter((found) => found.code === 'update/payload-differs');
    expect(differing.map((found) => (found.facts as { key: string }).key)).toEqual(keys);
  });

  it('with a payload that is cut off', async () => {
    const cut = { ...payloadEntry, content: payload.subarray(0, 60) };
    const { stops } = await readPackage(await makeZip([metadata, cut, properties]));
    expect(stops).toEqual(['update/payload-cut-off', 'update/payload-differs', 'update/payload-differs']);
  });

  it.each([
    ['compressed', [metadata, { ...payloadEntry, compress: true }, properties], ['update/payload-compressed']],
    ['missing', [metadata, properties], ['update/payload-missing']],
    ['without properties', [metadata, payloadEntry], ['update/payload-properties-missing']],
    [
      'a text',
      [metadata, { name: 'payload.bin', content: 'sorry' }, properties],
      ['update/payload-not-one', 'update/payload-differs', 'update/payload-differs'],
    ],
  ])('with a payload that is %s', async (_name, entries, stops) => {
    expect((await readPackage(await makeZip(entries))).stops).toEqual(stops);
  });

  /**
   * The same payload with one number of its header changed (version at 4, length of the manifest at 12; update_engine,
   * update_metadata.proto).
   */
  const headed = (at: number, value: bigint, data = payload): Buffer => {
    const other = Buffer.from(data);
    other.writeBigUInt64BE(value, at);
    return other;
  };
  const [largest, manifestBytes] = [32 * 2 ** 20, payload.readBigUInt64BE(12)];
  const broken = Buffer.from(payload).fill(0xff, 24, 24 + Number(manifestBytes));
  const long = Buffer.concat([payload.subarray(0, 24), Buffer.alloc(largest + 1), payload.subarray(24)]);
  it.each([
    ['of another version', headed(4, 3n), 'update/payload-version'],
    ['whose manifest is none', broken, 'update/payload-manifest-unreadable'],
    [
      'whose manifest is longer than 32 MiB',
      headed(12, BigInt(largest + 1), long),
      'update/payload-manifest-too-large',
    ],
    [
      'that builds on another build, which nothing names',
      makePayload({ partitions: [{ name: 'boot', bytes: 9 }], minorVersion: 5 }),
      'update/incremental-base-unknown',
    ],
  ])('with a payload %s', async (_name, content, code) => {
    const zip = await makeZip([
      metadata,
      { name: 'payload.bin', content },
      { ...properties, content: propertiesOf(content) },
    ]);
    expect((await readPackage(zip)).codes).toContain(code);
    expect((await readPackage(await makeZip([metadata, payloadEntry, properties]))).codes).not.toContain(code);
  });

  it('with metadata that say one thing twice', async () => {
    const twice = { name: metadataName, content: `${metadataText(usualMetadata)}post-timestamp=1\n` };
    const { findings } = await readPackage(await makeZip([twice, payloadEntry, properties]));
    expect(findings.find(({ code }) => code === 'update/metadata-key-twice')?.facts).toMatchObject({
      key: 'post-timestamp',
    });
  });

  it('with properties that lack a hash, and keys of a vendor', async () => {
    const lines = propertiesOf(payload).split('\n').slice(1).join('\n');
    const entry = { ...properties, content: `${lines}VENDOR_NOTE=x\n` };
    const { codes } = await readPackage(await makeZip([metadata, payloadEntry, entry]));
    expect(codes).toEqual([...sound, 'update/payload-properties-incomplete']);
  });

  it('with a metadata file that is no metadata, or far too large', async () => {
    const other = { name: metadataName, content: 'hello' };
    expect((await readPackage(await makeZip([other]))).codes).toContain('update/metadata-unreadable');
    const large = { name: metadataName, content: Buffer.alloc(3_000_000, 'a=b\n'), compress: true };
    expect((await readPackage(await makeZip([large]))).codes).toContain('update/metadata-too-large');
  });
});

describe('places that the metadata names', () => {
  /** The data starts behind the name: yazl writes no extra field into these local headers (APPNOTE 4.3.7). */
  const placeOf = (zip: Buffer, name: string, bytes: number): string => `${zip.indexOf(name) + name.length}:${bytes}`;
  const withPlaces = async (change: (places: string) => string): Promise<Buffer> => {
    const list = (places: string): PackageEntry => ({
      name: metadataName,
      content: metadataText({ ...usualMetadata, 'ota-property-files': places.padEnd(200) }),
    });
    const entries = (places: string) => [payloadEntry, properties, list(places)];
    const draft = await makeZip(entries(''));
    const size = Buffer.from(propertiesOf(payload)).length;
    const head = 24 + Number(payload.readBigUInt64BE(12)) + payload.readUInt32BE(20);
    const payloadPlace = placeOf(draft, 'payload.bin', payload.length);
    const places = [
      `payload_metadata.bin:${payloadPlace.split(':')[0]}:${head}`,
      `payload.bin:${payloadPlace}`,
      `payload_properties.txt:${placeOf(draft, 'payload_properties.txt', size)}`,
    ].join(',');
    return makeZip(entries(change(places)));
  };

  it('are right', async () => {
    const { facts, codes } = await readPackage(await withPlaces((places) => places));
    expect(facts.propertyFiles.places).toHaveLength(3);
    expect(codes).toEqual(sound);
  });

  it('are wrong by one', async () => {
    const run = await readPackage(
      await withPlaces((places) => places.replace(/payload.bin:(\d+)/, (_all, at) => `payload.bin:${Number(at) + 1}`)),
    );
    expect(run.stops).toEqual(['update/property-files-differ']);
  });

  it('name an entry that is not there', async () => {
    const run = await readPackage(await withPlaces((places) => `${places},care_map.pb:1:2`));
    expect(run.findings.find((found) => found.code === 'update/property-files-differ')?.facts).toEqual({
      problems: [{ name: 'care_map.pb', stated: '1:2', actual: 'not there' }],
    });
  });

  it('cannot be read', async () => {
    expect((await readPackage(await withPlaces(() => 'soon'))).codes).toContain('update/property-files-unreadable');
  });
});

describe('both forms of the metadata in one package', () => {
  const protobuf = (device: string): PackageEntry => {
    const writer = new BinaryWriter().tag(1, WireType.Varint).int32(1);
    writer.tag(5, WireType.LengthDelimited).fork().tag(1, WireType.LengthDelimited).string(device).join();
    writer.tag(6, WireType.LengthDelimited).fork();
    writer.tag(2, WireType.LengthDelimited).string(usualMetadata['post-build'] ?? '');
    writer.tag(3, WireType.LengthDelimited).string('20240117');
    writer.tag(4, WireType.Varint).int64(1705485600);
    writer.tag(5, WireType.LengthDelimited).string('30');
    writer.tag(6, WireType.LengthDelimited).string('2024-01-05').join();
    return { name: `${metadataName}.pb`, content: writer.finish() };
  };

  it('agree', async () => {
    const zip = await makeZip([metadata, protobuf('lantern75'), payloadEntry, properties]);
    expect((await readPackage(zip)).codes).toEqual(sound);
  });

  it('contradict each other', async () => {
    const zip = await makeZip([metadata, protobuf('sedge65'), payloadEntry, properties]);
    const { findings, stops } = await readPackage(zip);
    expect(stops).toEqual(['update/metadata-forms-differ']);
    expect(findings.find((found) => found.code === 'update/metadata-forms-differ')?.facts).toEqual({
      fields: [{ field: 'pre-device', text: 'lantern75', protobuf: 'sedge65' }],
    });
  });

  it('are read alone where only the newer one is there', async () => {
    const { codes } = await readPackage(await makeZip([protobuf('lantern75'), payloadEntry, properties]));
    expect(codes).toEqual(sound);
  });
});

describe('an archive that is no update package', () => {
  it('is left alone, also where it has a payload.bin of its own', async () => {
    const zip = await makeZip([
      { name: 'payload.bin', content: 'cargo' },
      { name: 'readme.txt', content: 'hello' },
    ]);
    const { facts, codes } = await readPackage(zip);
    expect(facts.recognised).toBe(false);
    expect(codes).toEqual([]);
  });

  it('is one by its update-binary, also without metadata', async () => {
    const zip = await makeZip([{ name: 'META-INF/com/google/android/update-binary', content: 'program' }]);
    expect((await readPackage(zip)).codes).toEqual(['update/not-signed', 'update/metadata-missing']);
  });
});
