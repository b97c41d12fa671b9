/**
 * What the metadata of an update package says, in either of its forms. An empty list or undefined means that it does
 * not say. Times and counts stay text where they may exceed what a number holds.
 */
export interface MetadataReading {
  /** `AB`, `BLOCK`, `BRICK`, or whatever else is written there. */
  readonly type: string | undefined;
  readonly wipe: boolean;
  readonly downgrade: boolean;
  readonly preDevices: readonly string[];
  readonly preBuilds: readonly string[];
  readonly preBuildIncremental: string | undefined;
  readonly postBuilds: readonly string[];
  readonly postBuildIncremental: string | undefined;
  /** Seconds since 1970. */
  readonly postTimestamp: string | undefined;
  readonly postSdkLevel: string | undefined;
  readonly postSecurityPatchLevel: string | undefined;
  readonly requiredCacheBytes: string | undefined;
  /** The package is only for these devices; the protobuf form has no such field. */
  readonly serialNumbers: readonly string[];
  /** Lists of places, by the name of the list: `ota-property-files` and its like. */
  readonly propertyFiles: readonly { readonly list: string; readonly text: string }[];
  /** Keys that are given more than once with different values, with all of them; always empty for the protobuf form. */
  readonly twice: readonly { readonly key: string; readonly values: readonly string[] }[];
}

export const metadataPath = 'META-INF/com/android/metadata';
export const metadataProtobufPath = 'META-INF/com/android/metadata.pb';

/** Without one of these it is not metadata, whatever other lines it has. */
const knownKeys = ['ota-type', 'pre-device', 'post-build', 'post-build-incremental', 'post-timestamp'];

/**
 * Reads the `key=value` form; undefined where none of the keys that every package has is there. Keys that AOSP does
 * not know are left alone. Of a key given twice the first counts, as in AOSP's recovery; a flag counts when any of its
 * lines sets it, because other readers take the last.
 * Source: AOSP build/tools/releasetools/ota_utils.py, BuildLegacyOtaMetadata; recovery install/install.cpp.
 */
export function parseMetadataText(text: string): MetadataReading | undefined {
  const all = parseKeyValues(text);
  if (!knownKeys.some((key) => all.has(key))) return undefined;
  const one = (key: string): string | undefined => all.get(key)?.[0] || undefined;
  const set = (key: string): boolean => all.get(key)?.includes('yes') === true;
  const list = (key: string): readonly string[] => splitList(one(key) ?? '');
  return {
    type: all.get('ota-type')?.includes('BRICK') ? 'BRICK' : one('ota-type'),
    wipe: set('ota-wipe'),
    downgrade: set('ota-downgrade'),
    preDevices: list('pre-device'),
    preBuilds: list('pre-build'),
    preBuildIncremental: one('pre-build-incremental'),
    postBuilds: list('post-build'),
    postBuildIncremental: one('post-build-incremental'),
    postTimestamp: one('post-timestamp'),
    postSdkLevel: one('post-sdk-level'),
    postSecurityPatchLevel: one('post-security-patch-level'),
    requiredCacheBytes: one('ota-required-cache'),
    serialNumbers: list('serialno'),
    propertyFiles: [...all]
      .filter(([key]) => key.endsWith('property-files'))
      .map(([key, values]) => ({ list: key, text: values[0] ?? '' })),
    twice: [...all].filter(([, values]) => new Set(values).size > 1).map(([key, values]) => ({ key, values })),
  };
}

/** Several devices or builds stand between `|` (ota_utils.py, BuildLegacyOtaMetadata). */
const splitList = (text: string): readonly string[] =>
  text
    .split('|')
    .map((part) => part.trim())
    .filter((part) => part !== '');

/**
 * Lines of `key=value` as AOSP's recovery reads them: split at LF, at the first `=`, both sides trimmed; lines without
 * `=` are skipped. Each key with all its values in order. Source: AOSP bootable/recovery install/install.cpp,
 * ReadMetadataFromPackage.
 */
export function parseKeyValues(text: string): ReadonlyMap<string, readonly string[]> {
  const values = new Map<string, string[]>();
  for (const line of text.split('\n')) {
    const at = line.indexOf('=');
    if (at < 0) continue;
    const key = line.slice(0, at).trim();
    const value = line.slice(at + 1).trim();
    const before = values.get(key);
    if (before === undefined) values.set(key, [value]);
    else before.push(value);
  }
  return values;
}

/** A part of the package that a reader may fetch by offset, without the zip's directory. */
export interface PropertyFile {
  /** The last part of the entry's path; `payload_metadata.bin` is the head of `payload.bin`, not an entry. */
  readonly name: string;
  /** Where the entry's data starts in the archive. */
  readonly offset: number;
  readonly bytes: number;
}

/** As many as an attacker could make us look up; real lists have fewer than ten. */
const largestCount = 1000;

/**
 * Reads `name:offset:size`, comma separated, padded with spaces; undefined where it is not that throughout.
 * Source: AOSP build/tools/releasetools/ota_utils.py, class PropertyFiles.
 */
export function parsePropertyFiles(text: string): readonly PropertyFile[] | undefined {
  const tokens = text.trim().split(',', largestCount + 1);
  if (tokens.length > largestCount) return undefined;
  const files: PropertyFile[] = [];
  for (const token of tokens) {
    const match = /^([^:]+):(\d{1,15}):(\d{1,15})$/.exec(token.trim());
    if (match?.[1] === undefined) return undefined;
    files.push({ name: match[1], offset: Number(match[2]), bytes: Number(match[3]) });
  }
  return files;
}
