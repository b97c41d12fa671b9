import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import type { FooterProblem } from '../../update-package/parse-footer.ts';

const recovery = 'AOSP bootable/recovery install/install.cpp';
const otaTools = 'AOSP build/tools/releasetools, ota_from_target_files.py and ota_utils.py';

interface Lines {
  /** Name and value, in the order to show them. */
  readonly lines: readonly { readonly name: string; readonly value: string }[];
}

const listed = (lines: Lines['lines']): string => lines.map(({ name, value }) => `${name} ${value}`).join('; ');

/** Findings about what the package says of itself. */
const updateMetadataFindings = {
  'update/package': define<Lines>({
    severity: 'note',
    title: 'Android update package',
    seen: ({ lines }) => `An Android update package. It says: ${lines.length === 0 ? 'nothing' : listed(lines)}.`,
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

const engine = 'AOSP update_engine/update_metadata.proto';
const downloadAgain = 'Download the package again from the maker, and do not zip it again yourself.';

interface Places {
  readonly problems: readonly {
    readonly name: string;
    /** `offset:size` */
    readonly stated: string;
    readonly actual: string;
  }[];
}

/** Findings about payload.bin, its properties, and the places that the metadata names. */
const updatePayloadFindings = {
  'update/payload-compressed': define<{ method: number }>({
    severity: 'stop',
    title: 'Payload is compressed',
    seen: ({ method }, subject) => `${subject} is compressed (method ${method}) instead of stored as it is.`,
    why: 'The panel reads it by its place in the file, without unpacking, and finds only noise. It means that somebody zipped the package again.',
    todo: downloadAgain,
    source: `${recovery}, SetUpAbUpdateCommands`,
  }),
  'update/payload-not-one': define<{ firstBytes: string }>({
    severity: 'stop',
    title: 'Payload is something else',
    seen: ({ firstBytes }, subject) => `${subject} begins with ${firstBytes || 'nothing'} instead of "CrAU".`,
    why: 'The panel takes nothing else as a payload and stops.',
    todo: downloadAgain,
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
    todo: downloadAgain,
    source: engine,
  }),
  'update/payload-manifest-unreadable': define<NoFacts>({
    severity: 'stop',
    title: 'List of partitions is damaged',
    seen: (_facts, subject) => `The manifest in ${subject} (its list of what goes where) cannot be read.`,
    why: 'The panel cannot read it either, and stops.',
    todo: downloadAgain,
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
    todo: downloadAgain,
    source: recovery,
  }),
  'update/payload-properties-missing': define<NoFacts>({
    severity: 'stop',
    title: 'Properties of the payload are missing',
    seen: (_facts, subject) => `There is a payload.bin, but no ${subject}.`,
    why: 'Without its sizes and hashes the panel does not start the update.',
    todo: downloadAgain,
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
    todo: downloadAgain,
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
    todo: downloadAgain,
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

const verifier = 'AOSP bootable/recovery install/verifier.cpp, verify_file';
const again = 'Download the package again from the maker. If it stays the same, do not use it, and ask the maker.';

const problems: Readonly<Record<FooterProblem, string>> = {
  marker: 'the mark FF FF of the footer is missing, although a signature is there',
  'end-record': 'the end record of the zip is not where the footer says',
  'start-outside': 'the footer places the signature outside the comment',
  'start-in-footer': 'the footer leaves no space for a signature',
  'second-end-record': 'behind the end record there is the mark of another one',
};

interface Signer {
  /** SHA-256 of the certificate. */
  readonly fingerprint: string;
  /** What the certificate calls itself. */
  readonly subject: string;
}

const asSigned = ({ fingerprint, subject }: Signer): string => `"${subject}", certificate SHA-256 ${fingerprint}`;

/** Findings about the whole-file signature. */
const updateSignatureFindings = {
  'update/not-signed': define<NoFacts>({
    severity: 'caution',
    title: 'Not signed',
    seen: () => 'The package has no whole-file signature.',
    why: 'Panels that follow AOSP refuse it in recovery. Often it means that somebody zipped the package again.',
    todo: 'Compare its hash with the one that the maker publishes, or download it again.',
    source: verifier,
  }),
  'update/signature-missing': define<NoFacts>({
    severity: 'stop',
    title: 'Not signed, though it should be',
    seen: () => 'A signer is known for this package, but the file has no whole-file signature.',
    why: 'It is not the file that the signer made: zipped again, cut off, or replaced.',
    todo: again,
    source: verifier,
  }),
  'update/signature-footer-broken': define<{ problem: FooterProblem }>({
    severity: 'stop',
    title: 'Signature is damaged',
    seen: ({ problem }) => `The end of the file should lead to its signature, but ${problems[problem]}.`,
    why: 'The panel would refuse it ("signature verification failed"), often after minutes of silence.',
    todo: again,
    source: verifier,
  }),
  'update/signature-unreadable': define<{ problem: string }>({
    severity: 'stop',
    title: 'Signature is damaged',
    seen: ({ problem }) => `There is a signature at the end of the file, but ${problem}.`,
    why: 'The panel would refuse it ("signature verification failed"), often after minutes of silence.',
    todo: again,
    source: 'RFC 5652 section 5',
  }),
  'update/signature-unsupported': define<{ what: string }>({
    severity: 'unproven',
    title: 'Signature of another kind',
    seen: ({ what }) => `The package is signed by a method that is not checked here (${what}).`,
    why: 'Whether the file is as it was signed could not be checked. AOSP only takes RSA and ECDSA with SHA-1 or SHA-256.',
    todo: 'Compare its hash with the one that the maker publishes.',
    source: verifier,
  }),
  'update/signature-broken': define<{ subject: string }>({
    severity: 'stop',
    title: 'CHANGED AFTER IT WAS SIGNED',
    seen: ({ subject }) => `The file is not as it was when "${subject}" signed it: the signature does not verify.`,
    why: 'The file was damaged or changed on its way. The panel would refuse it.',
    todo: again,
    source: verifier,
  }),
  'update/signature-certificate-damaged': define<NoFacts>({
    severity: 'stop',
    title: "Signer's certificate is damaged",
    seen: () => "The signer's certificate inside the signature is not as it was made.",
    why: 'The file was damaged or changed on its way; who signed it can no longer be said.',
    todo: again,
    source: 'RFC 5652 section 5.1, RFC 5280 section 4.1.1.3',
  }),
  'update/signature-without-certificate': define<NoFacts>({
    severity: 'unproven',
    title: 'Signed, but nobody says by whom',
    seen: () => 'The signature holds no certificate, and none was given to check it by.',
    why: 'Whether the file is as it was signed could not be checked.',
    todo: "Give the maker's certificate with --signer, or compare the file's hash with the one that the maker publishes.",
    source: 'RFC 5652 section 5.1',
  }),
  'update/signer-known': define<Signer>({
    severity: 'note',
    title: 'Signed by a signer you know',
    seen: (signer) => `Intact, and signed by a certificate that you trust: ${asSigned(signer)}.`,
    why: 'The file is as the owner of that certificate made it. Whether the panel trusts the same one only the panel knows.',
    todo: 'Nothing.',
    source: verifier,
  }),
  'update/signer-unknown': define<Signer>({
    severity: 'note',
    title: 'Intact, signer not known to you',
    seen: (signer) => `Intact as signed by ${asSigned(signer)}. This signer is not known to you.`,
    why: 'Anybody can sign with a certificate of their own: this shows that nothing changed since, not who made it. The panel decides by the certificates it holds.',
    todo: "Compare the fingerprint with one that the maker gives, and put it into the family file (signers), or give the maker's certificate with --signer.",
    source: verifier,
  }),
  'update/signer-differs': define<{
    readonly signer: Signer | undefined;
    /** Fingerprints of the certificates that were expected. */
    readonly expected: readonly string[];
    readonly onlyHashDiffers: boolean;
  }>({
    severity: 'stop',
    title: 'NOT SIGNED AS BY THE SIGNER YOU TRUST',
    seen: ({ signer, expected, onlyHashDiffers }) =>
      `Signed by ${signer === undefined ? 'an unnamed signer' : asSigned(signer)}; expected was ${
        expected.join(' or ') || 'a certificate that cannot sign packages'
      }.${onlyHashDiffers ? ' Both hold the same key, but the package was hashed in another way than that certificate asks for.' : ''}`,
    why: 'It is not made by the signer that you trust, or not in the way that a panel with that certificate takes.',
    todo: again,
    source: `${verifier}: the hash is the one of the trusted certificate`,
  }),
  'update/signature-weak': define<NoFacts>({
    severity: 'caution',
    title: 'Signed with a weak hash',
    seen: () => 'The signature uses SHA-1.',
    why: 'SHA-1 is broken: with effort, another file can be made that has the same signature. Older panels know nothing better.',
    todo: "Rely on the maker's published SHA-256 as well, or ask for a newer package.",
    source: 'NIST SP 800-131A Rev. 2: SHA-1 no longer allowed for new signatures (from memory)',
  }),
  'update/signature-form': define<{ reasons: readonly string[] }>({
    severity: 'caution',
    title: "Signed in a way that AOSP's recovery refuses",
    seen: ({ reasons }) => `The signature is sound, but ${reasons.join(', and ')}.`,
    why: "A panel whose recovery follows AOSP's refuses it, although nothing is wrong with the file.",
    todo: 'Make sure by the release notes that this package may be used in this way. If in doubt, ask the maker.',
    source: verifier,
  }),
};

/** What each side says, for a person to compare. */
interface Sides {
  readonly fileName: string;
  readonly inside: readonly string[];
  /** The label as typed, where one was given. */
  readonly label: string | undefined;
}

const sideBySide = ({ fileName, inside, label }: Sides): string =>
  `File name: ${fileName}. Inside: ${inside.join(', ') || 'nothing'}. Label: ${label ?? 'not given'}.`;

/** Findings where the file's name, its inside and the label do not go together. */
const updateClaimFindings = {
  'update/build-differs': define<Sides & { readonly build: string }>({
    severity: 'caution',
    title: 'Name and inside name different builds',
    seen: (facts) => `The file name says build ${facts.build}; the package inside does not. ${sideBySide(facts)}`,
    why: 'Somebody may have renamed another package, or the maker counts in two ways. The panel goes by the inside.',
    todo: 'Compare the build inside with the release notes before you use the package.',
    source: 'common practice',
  }),
  'update/device-differs': define<Sides & { readonly devices: readonly string[] }>({
    severity: 'stop',
    title: 'PACKAGE FOR ANOTHER DEVICE',
    seen: (facts) =>
      `The package inside is for another device than this family's panels (${facts.devices.join(', ')}). ${sideBySide(facts)}`,
    why: 'The panel refuses it ("for product …"); where it does not, picture and touch may be gone afterwards.',
    todo: 'Get the package for this panel. Do not rename another one.',
    source: 'AOSP bootable/recovery install/install.cpp, CheckPackageMetadata: pre-device',
  }),
};

/** Findings of the area `update/`. */
export const updateFindings = {
  ...updateMetadataFindings,
  ...updatePayloadFindings,
  ...updateSignatureFindings,
  ...updateClaimFindings,
};
