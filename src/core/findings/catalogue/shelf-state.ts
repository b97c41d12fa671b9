import { define } from '../define.ts';
import { countInWords, listInWords, sizeInWords } from '../words.ts';

const practice = 'common practice, no source';
const downloadAgain =
  "Remove it (stickwright shelf remove), download it again from the maker's page and add it; adding the same file again also repairs it.";
const rotHarms = 'A damaged package is refused by the panel, or stops in the middle of an update.';

/** Findings about what lies on the shelf: rot, twins, strangers, what is unfinished. */
export const shelfStateFindings = {
  'shelf/sound': define<{ packages: number; bytes: number }>({
    severity: 'note',
    title: 'read again and as recorded',
    seen: ({ packages, bytes }) =>
      `${countInWords(packages, 'package is', 'packages are')} byte for byte as recorded: ${sizeInWords(bytes)} read.`,
    why: 'What was inspected when it was added still lies there.',
    todo: 'Nothing.',
    source: 'SHA-256, FIPS 180-4',
  }),

  'shelf/content-changed': define<{ expected: string; got: string; bytes: number; gotBytes: number }>({
    severity: 'stop',
    title: 'a package is no longer what it was',
    seen: ({ expected, got, bytes, gotBytes }, subject) =>
      bytes === gotBytes
        ? `${subject} has its old size, but other bytes.\n  recorded  ${expected}\n  now       ${got}`
        : `${subject} has ${sizeInWords(gotBytes)} instead of ${sizeInWords(bytes)}.`,
    why: `The storage lost bits, or somebody changed the file by hand. ${rotHarms}`,
    todo: downloadAgain,
    noOverride: true,
    source: 'SHA-256, FIPS 180-4',
  }),

  'shelf/content-missing': define<{ id: string }>({
    severity: 'stop',
    title: 'a package is gone, its record is there',
    seen: ({ id }, subject) => `The folder ${id} has the record of ${subject}, but not the file.`,
    why: 'Somebody deleted or moved it by hand; a stick cannot be made from it.',
    todo: downloadAgain,
    noOverride: true,
    source: practice,
  }),

  'shelf/content-unreadable': define<{ problem: string }>({
    severity: 'stop',
    title: 'a package cannot be read',
    seen: ({ problem }, subject) => `Reading ${subject} failed: ${problem}`,
    why: `The storage is failing, or the connection to it. ${rotHarms}`,
    todo: `Try again; if it fails again, have the storage examined. ${downloadAgain}`,
    noOverride: true,
    source: practice,
  }),

  'shelf/record-damaged': define<{ problem: string; files: readonly string[] }>({
    severity: 'stop',
    title: 'a record is damaged',
    seen: ({ problem, files }, subject) =>
      `The record of ${files.length === 0 ? 'a package' : listInWords(files)} in ${subject} cannot be used: ${problem}.`,
    why: 'Where the package came from and whether it was sound is no longer known, so no label finds it.',
    todo: ({ files }, subject) =>
      `Download ${files[0] ?? 'the package'} again from the maker's page and add it; then delete the folder ${subject}.`,
    noOverride: true,
    source: practice,
  }),

  'shelf/record-newer': define<{ schema: string }>({
    severity: 'unproven',
    title: 'a record of a later version',
    seen: ({ schema }, subject) =>
      `${subject} has a record in the form ${schema}; this version knows stickwright/shelf-record/1.`,
    why: 'The package may be the one you need, but this version cannot tell.',
    todo: 'Use the version of stickwright that the other desks use.',
    source: practice,
  }),

  'shelf/name-twice': define<{ sha256: readonly string[] }>({
    severity: 'stop',
    title: 'one name, several contents',
    seen: ({ sha256 }, subject) =>
      `The shelf holds ${sha256.length} different files called ${subject}.\n  ${sha256.join('\n  ')}`,
    why: 'Two desks added them at the same moment. Nobody at the panel could tell which one a stick holds.',
    todo: "Compare them with the SHA-256 on the maker's page and remove the others: stickwright shelf remove, with the first digits of the SHA-256.",
    noOverride: true,
    source: practice,
  }),

  'shelf/stranger': define<{ where: string }>({
    severity: 'caution',
    title: 'a file that does not belong here',
    seen: ({ where }, subject) => `${subject} in ${where} was not put there by stickwright.`,
    why: 'No label finds what is copied onto the shelf by hand: it was never inspected.',
    todo: 'If it is a package, add it with stickwright shelf add; then delete it here.',
    source: practice,
  }),

  'shelf/unfinished': define<{ bytes: number; since: string }>({
    severity: 'caution',
    title: 'left by a desk that was cut off',
    seen: ({ bytes, since }, subject) =>
      `${subject} holds ${sizeInWords(bytes)} that were never finished; untouched since ${since}.`,
    why: 'It takes space and nothing else: no desk ever sees it as a package.',
    todo: 'Nothing: the next shelf add clears away what has been untouched for a day.',
    source: practice,
  }),
};
