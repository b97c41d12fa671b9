import { type Finding, finding } from '../../findings/finding.ts';
import { plainList, plainText } from '../../text/words.ts';
import { type MetadataReading, metadataPath, metadataProtobufPath } from '../../update-package/metadata.ts';
import type { MetadataForm, UpdatePackageFacts } from '../../update-package/update-package-facts.ts';
import { readForms } from './update-context.ts';

/** What the package says of itself, and whether it says it once, readably and without contradiction. */
export function checkMetadata(facts: UpdatePackageFacts): readonly Finding[] {
  const forms = readForms(facts);
  const [first] = forms;
  return [
    ...checkPresence(facts),
    ...checkForm(facts.text, metadataPath),
    ...checkForm(facts.protobuf, metadataProtobufPath),
    ...checkTwice(forms),
    ...checkAgreement(facts),
    ...checkDevice(facts, forms),
    ...(first === undefined ? [] : [finding('update/package', metadataPath, { lines: summary(first) })]),
  ];
}

function checkPresence(facts: UpdatePackageFacts): readonly Finding[] {
  const absent = facts.text.state === 'absent' && facts.protobuf.state === 'absent';
  return absent ? [finding('update/metadata-missing', metadataPath)] : [];
}

function checkForm(form: MetadataForm, path: string): readonly Finding[] {
  if (form.state === 'unreadable') return [finding('update/metadata-unreadable', path)];
  if (form.state === 'too-large') return [finding('update/metadata-too-large', path, { bytes: form.bytes })];
  return [];
}

function checkTwice(forms: readonly MetadataReading[]): readonly Finding[] {
  return forms
    .flatMap((form) => form.twice)
    .slice(0, 10)
    .map(({ key, values }) =>
      finding('update/metadata-key-twice', metadataPath, { key: plainText(key), values: plainList(values) }),
    );
}

function checkAgreement({ text, protobuf }: UpdatePackageFacts): readonly Finding[] {
  if (text.state !== 'read' || protobuf.state !== 'read') return [];
  const fields = compareMetadataForms(text.metadata, protobuf.metadata);
  if (fields.length === 0) return [];
  const plain = fields.map((one) => ({
    field: one.field,
    text: plainText(one.text),
    protobuf: plainText(one.protobuf),
  }));
  return [finding('update/metadata-forms-differ', metadataProtobufPath, { fields: plain })];
}

/** AOSP asks for the device only in A/B packages; the others check it in their own script. */
function checkDevice(facts: UpdatePackageFacts, forms: readonly MetadataReading[]): readonly Finding[] {
  const isAb = facts.payload !== undefined || forms.some((form) => form.type === 'AB');
  const named = forms.some((form) => form.preDevices.length > 0);
  return isAb && forms.length > 0 && !named ? [finding('update/no-device-named', metadataPath)] : [];
}

function summary(metadata: MetadataReading): readonly { readonly name: string; readonly value: string }[] {
  const lines: readonly (readonly [string, string | undefined])[] = [
    ['type', metadata.type],
    ['for device', plainList(metadata.preDevices).join(', ')],
    ['leads to build', plainList(metadata.postBuilds).join(', ')],
    ['build number', metadata.postBuildIncremental],
    ['made', metadata.postTimestamp && timeOf(metadata.postTimestamp)],
    ['security patch level', metadata.postSecurityPatchLevel],
    ['starts from build', plainList(metadata.preBuilds).join(', ') || metadata.preBuildIncremental],
  ];
  return lines.flatMap(([name, value]) => (value ? [{ name, value: plainText(value) }] : []));
}

/** Seconds since 1970 as RFC 3339, where they are that. */
const timeOf = (seconds: string): string =>
  /^\d{1,11}$/.test(seconds) ? new Date(Number(seconds) * 1000).toISOString().replace('.000Z', 'Z') : seconds;

/** A field on which the two forms of the metadata disagree, with what each says (empty: it does not say). */
interface FormDifference {
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
