import { type Finding, finding } from '../../findings/finding.ts';
import type { MetadataReading } from '../../update-package/metadata.ts';
import { plainList, plainText } from '../../update-package/plain-text.ts';
import type { UpdatePackageFacts } from '../../update-package/update-package-facts.ts';
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
  const readings = context.packageReading?.readings ?? [];
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
  fileName: plainText(context.packageReading?.fileName ?? ''),
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

/** Whether a build stands in a text as a whole word, whatever separates its parts and whether or not a V is before it. */
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
