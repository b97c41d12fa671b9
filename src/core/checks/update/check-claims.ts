import { type Finding, finding } from '../../findings/finding.ts';
import { plainList, plainText } from '../../text/words.ts';
import { type MetadataReading, metadataPath, metadataProtobufPath } from '../../update-package/metadata.ts';
import { payloadPath, payloadPropertiesPath } from '../../update-package/parse-payload.ts';
import type { MetadataForm, UpdatePackageFacts } from '../../update-package/update-package-facts.ts';
import { candidateFamilies, readForms, type UpdateContext } from './update-context.ts';

/** The file's name is a claim, the metadata inside another, the label a third; a difference shows all three. */
export function checkClaims(facts: UpdatePackageFacts, context: UpdateContext): readonly Finding[] {
  const [metadata] = readForms(facts);
  if (metadata === undefined) return [];
  return [...checkDevices(metadata, context), ...checkBuild(metadata, context)];
}

function checkDevices(metadata: MetadataReading, context: UpdateContext): readonly Finding[] {
  const families = candidateFamilies(context);
  const lists = families.map((family) => family.devices ?? []);
  // A family that names no devices takes any; and a package that names none is a finding of its own.
  if (lists.length === 0 || lists.some((list) => list.length === 0) || metadata.preDevices.length === 0) return [];
  const devices = lists.flat();
  if (metadata.preDevices.some((device) => devices.includes(device))) return [];
  return [finding('update/device-differs', 'package', { ...sides(metadata, context), devices })];
}

function checkBuild(metadata: MetadataReading, context: UpdateContext): readonly Finding[] {
  const readings = context.packageReading.readings;
  const families = candidateFamilies(context);
  const builds = readings.filter((one) => families.includes(one.family)).flatMap((one) => one.build ?? []);
  const { postBuilds, postBuildIncremental: number } = metadata;
  const inside = number === undefined ? postBuilds : [...postBuilds, number];
  const [build] = builds;
  if (build === undefined || inside.length === 0) return [];
  if (builds.some((one) => inside.some((text) => namesBuild(text, one)))) return [];
  return [finding('update/build-differs', 'package', { ...sides(metadata, context), build: plainText(build) })];
}

const sides = (metadata: MetadataReading, context: UpdateContext) => ({
  fileName: plainText(context.packageReading.fileName),
  inside: insideOf(metadata),
  label: context.labelReading && plainText(context.labelReading.text),
});

const insideOf = (metadata: MetadataReading): readonly string[] => [
  ...plainList(metadata.preDevices).map((device) => `device ${device}`),
  ...plainList(metadata.postBuilds).map((build) => `build ${build}`),
  ...(metadata.postBuildIncremental === undefined ? [] : [`build number ${plainText(metadata.postBuildIncremental)}`]),
];

/** No build name is longer; what lies beyond in a text from a package is not looked at. */
const longestBuildText = 1000;

/**
 * Whether a build stands in a text as a whole word, whatever separates its parts and whether or not a V is before it.
 */
function namesBuild(text: string, build: string): boolean {
  const hay = fold(text);
  const needle = fold(build).replace(/^v(?=\d)/, '');
  if (needle === '') return false;
  for (let at = hay.indexOf(needle); at >= 0; at = hay.indexOf(needle, at + 1)) {
    const start = hay[at - 1] === 'v' ? at - 1 : at;
    if (!isWord(hay[start - 1]) && !isWord(hay[at + needle.length])) return true;
  }
  return false;
}

const isWord = (character: string | undefined): boolean => character !== undefined && /[a-z0-9]/.test(character);

const fold = (text: string): string =>
  text
    .slice(0, longestBuildText)
    .toLowerCase()
    .replace(/[\s._-]+/g, '.');

/** What the panel must be and run already, and whether the package leads back. */
export function checkBase(facts: UpdatePackageFacts): readonly Finding[] {
  const forms = readForms(facts);
  const downgrade = forms.some((form) => form.downgrade);
  const needs = forms.find((form) => form.preBuilds.length > 0 || form.preBuildIncremental !== undefined);
  const minorVersion = payloadMinorVersion(facts);
  const found: Finding[] = [];
  if (needs !== undefined) {
    const incremental = needs.preBuildIncremental && plainText(needs.preBuildIncremental);
    found.push(finding('update/incremental', metadataPath, { builds: plainList(needs.preBuilds), incremental }));
  } else if (minorVersion !== 0) {
    found.push(finding('update/incremental-base-unknown', payloadPath, { minorVersion }));
  }
  const serialNumbers = forms.flatMap((form) => form.serialNumbers);
  if (serialNumbers.length > 0) {
    found.push(finding('update/only-serial-numbers', metadataPath, { serialNumbers: plainList(serialNumbers) }));
  }
  if (downgrade) found.push(finding('update/downgrade', metadataPath));
  return found;
}

/** 0 is a full payload; so is what cannot be read, which is a finding of its own. */
function payloadMinorVersion({ payload }: UpdatePackageFacts): number {
  if (payload?.header.state !== 'read' || payload.header.manifest.state !== 'read') return 0;
  return payload.header.manifest.minorVersion;
}

/**
 * Flags that erase: against the promise where the mode keeps data, loudly where it does not or where none was chosen.
 * A package that is made to disable devices stops in every mode, because nobody updates a panel with one.
 */
export function checkWipe(facts: UpdatePackageFacts, keepsData: boolean | undefined): readonly Finding[] {
  const brick = readForms(facts).some((form) => form.type === 'BRICK');
  const flags = [
    ...(wipes(facts.text) ? [`ota-wipe=yes in ${metadataPath}`] : []),
    ...(wipes(facts.protobuf) ? [`wipe in ${metadataProtobufPath}`] : []),
    ...(facts.payloadProperties?.powerwash === true ? [`POWERWASH=1 in ${payloadPropertiesPath}`] : []),
  ];
  const code = keepsData === true ? 'update/wipe-breaks-promise' : 'update/wipes-data';
  return [
    ...(brick ? [finding('update/brick', metadataPath)] : []),
    ...(flags.length > 0 ? [finding(code, metadataPath, { flags })] : []),
  ];
}

const wipes = (form: MetadataForm): boolean => form.state === 'read' && form.metadata.wipe;
