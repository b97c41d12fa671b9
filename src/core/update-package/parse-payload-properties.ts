import { parseKeyValues } from './parse-key-values.ts';

/** What `payload_properties.txt` says of the payload; keys of vendors are left alone. */
export interface PayloadProperties {
  readonly fileHash: string | undefined;
  readonly fileSize: string | undefined;
  readonly metadataHash: string | undefined;
  readonly metadataSize: string | undefined;
  /** The panel erases the user's data when it takes the package. */
  readonly powerwash: boolean;
}

export const payloadPropertiesPath = 'payload_properties.txt';

/**
 * Reads the properties. `POWERWASH=1` counts wherever it stands in the text, because AOSP's recovery looks for it that
 * way (install/install.cpp, PerformPowerwashIfRequired). Keys: AOSP update_engine/payload_generator/payload_properties.cc.
 */
export function parsePayloadProperties(text: string): PayloadProperties {
  const all = parseKeyValues(text);
  const one = (key: string): string | undefined => all.get(key)?.[0] || undefined;
  return {
    fileHash: one('FILE_HASH'),
    fileSize: one('FILE_SIZE'),
    metadataHash: one('METADATA_HASH'),
    metadataSize: one('METADATA_SIZE'),
    powerwash: text.includes('POWERWASH=1'),
  };
}
