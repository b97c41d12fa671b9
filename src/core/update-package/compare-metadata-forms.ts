import type { MetadataReading } from './metadata.ts';

/** A field on which the two forms of the metadata disagree, with what each says (empty: it does not say). */
export interface FormDifference {
  readonly field: string;
  readonly text: string;
  readonly protobuf: string;
}

const shown: Readonly<Record<string, (reading: MetadataReading) => string>> = {
  // The text form has no word for BRICK or for an unknown type (ota_utils.py, BuildLegacyOtaMetadata).
  'ota-type': (m) => (m.type === 'AB' || m.type === 'BLOCK' ? m.type : ''),
  'ota-wipe': (m) => (m.wipe ? 'yes' : ''),
  'ota-downgrade': (m) => (m.downgrade ? 'yes' : ''),
  'pre-device': (m) => sorted(m.preDevices),
  'pre-build': (m) => sorted(m.preBuilds),
  'pre-build-incremental': (m) => m.preBuildIncremental ?? '',
  'post-build': (m) => sorted(m.postBuilds),
  'post-build-incremental': (m) => m.postBuildIncremental ?? '',
  'post-timestamp': (m) => zeroIsNothing(m.postTimestamp),
  'post-sdk-level': (m) => m.postSdkLevel ?? '',
  'post-security-patch-level': (m) => m.postSecurityPatchLevel ?? '',
  'ota-required-cache': (m) => zeroIsNothing(m.requiredCacheBytes),
};

/**
 * Compares the two forms field by field; the build tools make the text from the protobuf, so sound ones agree. A zero
 * and an absent number are the same: the protobuf form (proto3) cannot tell them apart.
 */
export function compareMetadataForms(text: MetadataReading, protobuf: MetadataReading): readonly FormDifference[] {
  const fields = Object.entries(shown).map(([field, of]) => ({ field, text: of(text), protobuf: of(protobuf) }));
  return fields.filter((field) => field.text !== field.protobuf);
}

const sorted = (list: readonly string[]): string => list.toSorted().join('|');

const zeroIsNothing = (text: string | undefined): string => (text === '0' ? '' : (text ?? ''));
