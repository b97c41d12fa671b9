import { define, type NoFacts } from '../define.ts';

const recovery = 'AOSP bootable/recovery install/install.cpp';
const otaTools = 'AOSP build/tools/releasetools, ota_from_target_files.py and ota_utils.py';

interface Lines {
  /** Name and value, in the order to show them. */
  readonly lines: readonly { readonly name: string; readonly value: string }[];
}

const listed = (lines: Lines['lines']): string => lines.map(({ name, value }) => `${name} ${value}`).join('; ');

/** Findings about what the package says of itself. */
export const updateMetadataFindings = {
  'update/package': define<Lines>({
    severity: 'note',
    title: 'Android update package',
    seen: ({ lines }) => `An Android update package. It says: ${listed(lines)}.`,
    why: 'The panel goes by this, not by the name of the file.',
    todo: 'Compare it with the release notes and with the About page of the panel.',
    source: otaTools,
  }),
  'update/metadata-missing': define<NoFacts>({
    severity: 'caution',
    title: 'Package says nothing of itself',
    seen: () => 'There is no META-INF/com/android/metadata inside, although this is an Android update package.',
    why: 'Nothing inside says for which panel and build it is made; panels that follow AOSP may refuse it.',
    todo: 'Make sure by the release notes that this is the package for this panel. If in doubt, ask the maker.',
    source: recovery,
  }),
  'update/metadata-unreadable': define<NoFacts>({
    severity: 'unproven',
    title: 'Metadata cannot be read',
    seen: (_facts, subject) => `${subject} is there, but it is not in the form that update packages use.`,
    why: 'What it would say (which panel, which build, whether it erases data) could not be checked.',
    todo: 'Download the package again. If it is the same, ask the maker what this package does.',
    source: otaTools,
  }),
  'update/metadata-too-large': define<{ bytes: number }>({
    severity: 'unproven',
    title: 'Metadata too large to be metadata',
    seen: ({ bytes }, subject) => `${subject} has ${bytes} bytes; real ones have a few thousand. It was not read.`,
    why: 'What it would say (which panel, which build, whether it erases data) could not be checked.',
    todo: 'Download the package again from the maker. If it is the same, ask the maker.',
    source: 'common practice',
  }),
  'update/metadata-forms-differ': define<{
    readonly fields: readonly { readonly field: string; readonly text: string; readonly protobuf: string }[];
  }>({
    severity: 'stop',
    title: 'Package contradicts itself',
    seen: ({ fields }) =>
      `The two forms of its metadata differ: ${fields
        .map((one) => `${one.field} is "${one.text}" in metadata and "${one.protobuf}" in metadata.pb`)
        .join('; ')}.`,
    why: 'One panel software reads the one, another the other; nobody can say what this package would do. Build tools never make such a package.',
    todo: 'Do not use it. Download it again from the maker; if it is the same, ask the maker.',
    source: otaTools,
  }),
  'update/metadata-key-twice': define<{ key: string; values: readonly string[] }>({
    severity: 'caution',
    title: 'Metadata says two things',
    seen: ({ key, values }, subject) => `${subject} gives ${key} more than once: ${values.join(' and ')}.`,
    why: 'Panel software differs in which of the lines counts.',
    todo: 'Ask the maker which one is meant, before you use the package.',
    source: `${recovery}: the first line counts there`,
  }),
  'update/no-device-named': define<NoFacts>({
    severity: 'caution',
    title: 'Package names no device',
    seen: () => 'Its metadata does not say for which device it is made (no pre-device).',
    why: 'Panels that follow AOSP refuse such a package; others would take it even where it does not belong.',
    todo: 'Make sure by the release notes that it is for this panel. If in doubt, ask the maker.',
    source: recovery,
  }),
  'update/only-serial-numbers': define<{ serialNumbers: readonly string[] }>({
    severity: 'caution',
    title: 'Only for certain panels',
    seen: ({ serialNumbers }) => `The package is only for the serial numbers ${serialNumbers.join(', ')}.`,
    why: 'Every other panel refuses it, also of the same kind.',
    todo: 'Compare with the serial number on the panel, or get the package that is for all.',
    source: `${recovery}, CheckPackageMetadata: serialno`,
  }),
  'update/incremental': define<{ builds: readonly string[]; incremental: string | undefined }>({
    severity: 'caution',
    title: 'Only for panels on one build',
    seen: ({ builds, incremental }) =>
      `An incremental package. It only fits panels that run ${[...builds, ...(incremental === undefined ? [] : [`build ${incremental}`])].join(', ')}.`,
    why: 'On any other build the panel refuses it ("for source build …") or, with poor software, is left half updated.',
    todo: "Look at the panel's About page first. If the build differs, get the full package.",
    source: recovery,
  }),
  'update/incremental-base-unknown': define<{ minorVersion: number }>({
    severity: 'caution',
    title: 'Builds on what the panel has',
    seen: ({ minorVersion }) =>
      `payload.bin is not a full one (minor version ${minorVersion}), and the metadata does not say upon which build it builds.`,
    why: 'It only fits panels with exactly the right build; on any other the update fails.',
    todo: 'Find the starting build in the release notes, or get the full package.',
    source: 'AOSP update_engine/update_metadata.proto, minor_version',
  }),
  'update/wipe-breaks-promise': define<{ flags: readonly string[] }>({
    severity: 'stop',
    title: 'Package erases data',
    seen: ({ flags }) => `The package tells the panel to erase its data (${flags.join(', ')}).`,
    why: 'This way of updating is said to keep the data. With this package everything on the panel would be gone: whiteboards, accounts, apps, network settings.',
    todo: "Get the package that keeps data, or treat it as a wipe: approval, backup, and the maker's document.",
    source: `${otaTools}; ${recovery}, PerformPowerwashIfRequired`,
  }),
  'update/wipes-data': define<{ flags: readonly string[] }>({
    severity: 'caution',
    title: 'ERASES EVERYTHING on the panel',
    seen: ({ flags }) => `The package tells the panel to ERASE ITS DATA (${flags.join(', ')}).`,
    why: 'Whiteboards, recordings, accounts, apps and network settings of the panel will be gone, and cannot be brought back.',
    todo: 'Make a backup first, have the approval, and tell the users of the room.',
    source: `${otaTools}; ${recovery}, PerformPowerwashIfRequired`,
  }),
  'update/brick': define<NoFacts>({
    severity: 'stop',
    title: 'Made to disable a panel',
    seen: () => 'Its type is BRICK: a package that is made to erase a device so that it no longer starts.',
    why: 'It is for retiring devices, not for updating them. The panel would be dead afterwards.',
    todo: 'Do not put it on a stick. If it was sent to you as an update, tell the maker.',
    source: `${recovery}, OtaType::BRICK; AOSP wipe_device`,
  }),
  'update/downgrade': define<NoFacts>({
    severity: 'caution',
    title: 'Goes back to an older build',
    seen: () => 'The package says that it leads to an older build than the one it starts from (ota-downgrade).',
    why: 'Data of the newer build is erased or unusable afterwards, and a panel with anti-rollback may refuse or not start.',
    todo: 'Only go back when the maker told you to, with a backup.',
    source: `${otaTools}, --downgrade`,
  }),
};
