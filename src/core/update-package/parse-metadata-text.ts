import type { MetadataReading } from './metadata.ts';
import { parseKeyValues } from './parse-key-values.ts';

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
