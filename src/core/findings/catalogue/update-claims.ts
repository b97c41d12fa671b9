import { define } from '../define.ts';

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
export const updateClaimFindings = {
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
