import { visible } from '../findings/visible.ts';
import type { Manifest } from '../model/manifest.ts';

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
    'or, from the root of the stick, with',
    '',
    '  sha256sum -c stickwright/checksums.sha256',
    '',
    "Follow the maker's service documentation. A panel is heavy and on mains: never",
    'open it, never lean on it, and let licensed people see to its wiring.',
  ];
  return lines.map((line) => `${line}\r\n`).join('');
}
