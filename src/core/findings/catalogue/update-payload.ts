import { define, type NoFacts } from '../define.ts';

const engine = 'AOSP update_engine/update_metadata.proto';
const recovery = 'AOSP bootable/recovery install/install.cpp';
const again = 'Download the package again from the maker, and do not zip it again yourself.';

interface Places {
  readonly problems: readonly {
    readonly name: string;
    /** `offset:size` */
    readonly stated: string;
    readonly actual: string;
  }[];
}

/** Findings about payload.bin, its properties, and the places that the metadata names. */
export const updatePayloadFindings = {
  'update/payload-compressed': define<{ method: number }>({
    severity: 'stop',
    title: 'Payload is compressed',
    seen: ({ method }, subject) => `${subject} is compressed (method ${method}) instead of stored as it is.`,
    why: 'The panel reads it by its place in the file, without unpacking, and finds only noise. It means that somebody zipped the package again.',
    todo: again,
    source: `${recovery}, SetUpAbUpdateCommands`,
  }),
  'update/payload-not-one': define<{ firstBytes: string }>({
    severity: 'stop',
    title: 'Payload is something else',
    seen: ({ firstBytes }, subject) => `${subject} begins with ${firstBytes || 'nothing'} instead of "CrAU".`,
    why: 'The panel takes nothing else as a payload and stops.',
    todo: again,
    source: engine,
  }),
  'update/payload-version': define<{ version: string }>({
    severity: 'stop',
    title: 'Payload of another version',
    seen: ({ version }, subject) => `${subject} has major version ${version}; Android panels take version 2.`,
    why: 'The panel cannot read it and stops.',
    todo: 'Make sure by the release notes that this package is for this panel, and download it again.',
    source: engine,
  }),
  'update/payload-cut-off': define<{ bytes: number; announcedBytes: string }>({
    severity: 'stop',
    title: 'Payload is cut off',
    seen: ({ bytes, announcedBytes }, subject) =>
      `${subject} has ${bytes} bytes, but its header announces at least ${announcedBytes}.`,
    why: 'A part is missing; the update would fail at the panel.',
    todo: again,
    source: engine,
  }),
  'update/payload-manifest-unreadable': define<NoFacts>({
    severity: 'stop',
    title: 'List of partitions is damaged',
    seen: (_facts, subject) => `The manifest in ${subject} (its list of what goes where) cannot be read.`,
    why: 'The panel cannot read it either, and stops.',
    todo: again,
    source: engine,
  }),
  'update/payload-manifest-too-large': define<{ bytes: number }>({
    severity: 'note',
    title: 'Too long to list',
    seen: ({ bytes }, subject) =>
      `The manifest in ${subject} has ${bytes} bytes; it was hashed, but its partitions are not listed.`,
    why: 'It says nothing against the package; only the list is missing here.',
    todo: 'Nothing.',
    source: 'common practice',
  }),
  'update/payload-partitions': define<{
    readonly partitions: readonly { readonly name: string; readonly bytes: number | undefined }[];
    readonly leftOut: number;
  }>({
    severity: 'note',
    title: 'What is replaced',
    seen: ({ partitions, leftOut }) =>
      `It replaces ${partitions.length + leftOut} partition${partitions.length + leftOut === 1 ? '' : 's'}: ${partitions
        .map(({ name, bytes }) => (bytes === undefined ? name : `${name} (${bytes} bytes)`))
        .join(', ')}${leftOut > 0 ? ` and ${leftOut} more` : ''}.`,
    why: 'It shows what of the panel the package touches.',
    todo: 'Nothing.',
    source: engine,
  }),
  'update/payload-missing': define<{ because: 'properties' | 'type' }>({
    severity: 'stop',
    title: 'Payload is missing',
    seen: ({ because }, subject) =>
      `${because === 'properties' ? 'There is a payload_properties.txt' : 'Its metadata says that it is an A/B package'}, but there is no ${subject}.`,
    why: 'The firmware itself is not in the package.',
    todo: again,
    source: recovery,
  }),
  'update/payload-properties-missing': define<NoFacts>({
    severity: 'stop',
    title: 'Properties of the payload are missing',
    seen: (_facts, subject) => `There is a payload.bin, but no ${subject}.`,
    why: 'Without its sizes and hashes the panel does not start the update.',
    todo: again,
    source: `${recovery}, SetUpAbUpdateCommands`,
  }),
  'update/payload-properties-incomplete': define<{ missing: readonly string[] }>({
    severity: 'caution',
    title: 'Properties of the payload are incomplete',
    seen: ({ missing }, subject) => `${subject} does not give ${missing.join(', ')}.`,
    why: 'The panel compares these with the payload; without them it may refuse the package, and nothing could be compared here.',
    todo: 'Download the package again from the maker.',
    source: 'AOSP update_engine/payload_generator/payload_properties.cc',
  }),
  'update/payload-differs': define<{ key: string; stated: string; actual: string }>({
    severity: 'stop',
    title: 'Payload is not what was made',
    seen: ({ key, stated, actual }, subject) =>
      `${key} in payload_properties.txt says ${stated}, but ${subject} comes to ${actual}.`,
    why: 'The payload or its properties were changed or damaged; the panel would stop in the middle.',
    todo: again,
    source: 'AOSP update_engine/payload_generator/payload_properties.cc',
  }),
  'update/property-files-differ': define<Places>({
    severity: 'stop',
    title: 'Places inside the package are wrong',
    seen: ({ problems }, subject) =>
      `${subject} names places that are not so: ${problems
        .map((one) => `${one.name} at ${one.stated}, really ${one.actual}`)
        .join('; ')}.`,
    why: 'The panel would read from the wrong place. It means that somebody zipped the package again or changed it.',
    todo: again,
    source: 'AOSP build/tools/releasetools/ota_utils.py, class PropertyFiles',
  }),
  'update/property-files-unreadable': define<NoFacts>({
    severity: 'caution',
    title: 'Places inside the package cannot be read',
    seen: (_facts, subject) => `${subject} in the metadata is not a list of name:offset:size.`,
    why: 'Panel software that goes by this list cannot find the parts of the package.',
    todo: 'Download the package again from the maker. If it is the same, ask the maker.',
    source: 'AOSP build/tools/releasetools/ota_utils.py, class PropertyFiles',
  }),
};
