import { type Finding, finding } from '../../findings/finding.ts';
import { plainText } from '../../text/words.ts';
import { type PayloadProperties, payloadPath, payloadPropertiesPath } from '../../update-package/parse-payload.ts';
import type {
  PayloadFacts,
  PayloadHeaderFacts,
  PropertyFilePlace,
  PropertyFilesFacts,
  UpdatePackageFacts,
} from '../../update-package/update-package-facts.ts';
import { readForms } from './update-context.ts';

/** The payload's form, and its sizes and hashes against its properties. */
export function checkPayload(facts: UpdatePackageFacts): readonly Finding[] {
  const { payload, payloadProperties: properties } = facts;
  if (payload === undefined) {
    if (properties !== undefined) return [finding('update/payload-missing', payloadPath, { because: 'properties' })];
    const isAb = readForms(facts).some((form) => form.type === 'AB');
    return isAb ? [finding('update/payload-missing', payloadPath, { because: 'type' })] : [];
  }
  return [
    ...(payload.method === 0 ? [] : [finding('update/payload-compressed', payloadPath, { method: payload.method })]),
    ...checkHeader(payload.header, payload.bytes),
    ...(properties === undefined
      ? [finding('update/payload-properties-missing', payloadPropertiesPath)]
      : compareWithProperties(payload, properties)),
  ];
}

function checkHeader(header: PayloadHeaderFacts, bytes: number): readonly Finding[] {
  switch (header.state) {
    case 'not-a-payload':
      return [finding('update/payload-not-one', payloadPath, { firstBytes: header.firstBytes })];
    case 'other-version':
      return [finding('update/payload-version', payloadPath, { version: header.version })];
    case 'cut-off':
      return [finding('update/payload-cut-off', payloadPath, { bytes, announcedBytes: header.announcedBytes })];
    case 'read':
      return checkManifest(header);
  }
}

function checkManifest({ manifest, manifestBytes }: Extract<PayloadHeaderFacts, { state: 'read' }>) {
  switch (manifest.state) {
    case 'unreadable':
      return [finding('update/payload-manifest-unreadable', payloadPath)];
    case 'too-large':
      return [finding('update/payload-manifest-too-large', payloadPath, { bytes: manifestBytes })];
    case 'read': {
      if (manifest.partitions.length === 0) return [];
      const shown = manifest.partitions.slice(0, 100);
      return [
        finding('update/payload-partitions', payloadPath, {
          partitions: shown.map(({ name, bytes }) => ({ name: plainText(name), bytes })),
          leftOut: manifest.partitions.length - shown.length + manifest.partitionsLeftOut,
        }),
      ];
    }
  }
}

function compareWithProperties(payload: PayloadFacts, properties: PayloadProperties): readonly Finding[] {
  const header = payload.header.state === 'read' ? payload.header : undefined;
  const pairs: readonly (readonly [key: string, stated: string | undefined, actual: string | undefined])[] = [
    ['FILE_HASH', properties.fileHash, payload.fileHash],
    ['FILE_SIZE', properties.fileSize, String(payload.bytes)],
    ['METADATA_HASH', properties.metadataHash, header?.metadataHash],
    ['METADATA_SIZE', properties.metadataSize, header && String(header.metadataBytes)],
  ];
  const missing = pairs.filter(([, stated]) => stated === undefined).map(([key]) => key);
  const differing = pairs.flatMap(([key, stated, actual]) => {
    if (stated === undefined || actual === undefined || stated === actual) return [];
    return [finding('update/payload-differs', payloadPath, { key, stated: plainText(stated), actual })];
  });
  return missing.length === 0
    ? differing
    : [...differing, finding('update/payload-properties-incomplete', payloadPropertiesPath, { missing })];
}

/** The places that the metadata names for reading without the zip's directory, against where things really are. */
export function checkPropertyFiles(facts: PropertyFilesFacts): readonly Finding[] {
  const lists = [...new Set(facts.places.map((place) => place.list))];
  return [
    ...facts.unreadable.map((list) => finding('update/property-files-unreadable', plainText(list))),
    ...lists.flatMap((list) => {
      const wrong = facts.places.filter((place) => place.list === list && !isRight(place));
      if (wrong.length === 0) return [];
      return [finding('update/property-files-differ', plainText(list), { problems: wrong.slice(0, 10).map(describe) })];
    }),
  ];
}

const isRight = ({ stated, actual }: PropertyFilePlace): boolean =>
  actual?.stored === true && actual.offset === stated.offset && actual.bytes === stated.bytes;

const describe = ({ stated, actual }: PropertyFilePlace) => ({
  name: plainText(stated.name),
  stated: `${stated.offset}:${stated.bytes}`,
  actual:
    actual === undefined ? 'not there' : `${actual.offset}:${actual.bytes}${actual.stored ? '' : ', and compressed'}`,
});
