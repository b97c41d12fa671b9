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
