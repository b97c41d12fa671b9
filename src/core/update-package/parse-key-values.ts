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
