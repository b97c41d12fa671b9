import type { Sha256 } from '../documents/own-digest.ts';
import type { Manifest, ManifestFile } from '../model/manifest.ts';
import { checksumList } from '../text/checksum-list.ts';
import { visible } from '../text/visible.ts';
import type { DescribedStick } from './build-manifest.ts';
import { checksumsName, noteName, toolFolder } from './stick-names.ts';

/** What lies beside the manifest: each made when it is asked for, for those of thousands of files are long. */
export const stickRecordTexts = (
  described: Pick<DescribedStick, 'files'> & Parameters<typeof finderNote>[0],
): readonly (readonly [name: string, text: () => string])[] => [
  [checksumsName, () => checksumList(described.files)],
  [noteName, () => finderNote(described)],
];

/** List and note as the manifest names them. */
export const stickRecordFiles = (described: DescribedStick, sha256: Sha256): readonly ManifestFile[] =>
  stickRecordTexts(described).map(([name, textOf]) => fileOf(name, textOf(), sha256));

/** What must lie beside this manifest. Version 1 does not say it, but its list follows from its files. */
export const stickRecordNamedBy = (manifest: Manifest, sha256: Sha256): readonly ManifestFile[] =>
  manifest.schema === 'stickwright/manifest/2'
    ? manifest.record
    : [fileOf(checksumsName, checksumList(manifest.files), sha256)];

const fileOf = (name: string, text: string, sha256: Sha256): ManifestFile => ({
  path: `${toolFolder}/${name}`,
  bytes: new TextEncoder().encode(text).byteLength,
  sha256: sha256(text),
});

const list = `${toolFolder}/${checksumsName}`;

type Noted = Pick<Manifest, 'stick' | 'label' | 'mode' | 'archive' | 'keepsData' | 'preparedAt'>;

/** A plain text for whoever finds the stick; CRLF, so that every desktop shows its lines. */
export function finderNote(manifest: Noted): string {
  const { stick, label, mode, archive, keepsData, preparedAt } = manifest;
  const lines = [
    'WHAT IS THIS STICK?',
    '',
    'It carries firmware for ONE kind of wall-mounted interactive panel.',
    '',
    `  Stick          ${visible(stick)}`,
    `  For the label  ${visible(label.text)}`,
    `  Firmware       ${visible(archive.name)}`,
    ...(archive.build === null ? [] : [`  Build          ${visible(archive.build)}`]),
    `  Mode           ${mode}`,
    `  Prepared       ${visible(preparedAt)}`,
    '',
    ...(keepsData
      ? ['In the wrong panel it can still do harm. Do not plug it into a panel.']
      : ['IT WIPES THE PANEL IT IS PLUGGED INTO. Do not plug it into a panel.', 'A wipe is final.']),
    '',
    'If you found it: hand it to the people who look after the panels.',
    'If you are to use it: check it first with',
    '',
    '  stickwright verify <this stick> --label "<label on the back of the panel>"',
    '',
    'or without that program. In a terminal, in the root of the stick, on Linux:',
    '',
    `  sha256sum -c ${list}`,
    '',
    'on macOS:',
    '',
    `  shasum -a 256 -c ${list}`,
    '',
    'Each line must end with OK. On Windows, in PowerShell (type the letter of the',
    'stick first, such as E:, and press Enter):',
    '',
    `  Get-Content ${list} -Encoding UTF8 | ForEach-Object {`,
    "  $hash, $name = $_ -split '  ', 2",
    '  "$((Get-FileHash -LiteralPath $name).Hash -eq $hash)  $name" }',
    '',
    'Each line must begin with True.',
    '',
    "Follow the maker's service documentation. A panel is heavy and on mains: never",
    'open it, never lean on it, and let licensed people see to its wiring.',
  ];
  return lines.map((line) => `${line}\r\n`).join('');
}
