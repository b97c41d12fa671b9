import type { LeftKind } from '../contents/content-kinds.ts';
import type { SortedEntry } from '../contents/sort-contents.ts';
import { fileSystemInWords, tableInWords } from '../findings/catalogue/stick.ts';
import type { Conclusion } from '../returned/check-returned.ts';
import type { ClearingItem } from '../returned/plan-clearing.ts';
import { countInWords, exactSize, listInWords, roundedSize } from '../text/words.ts';
import type { ClearingState, FormatPlan, Losses } from './medium-reports.ts';

// What is said of whole media, on a terminal and in a window alike.

const mostNames = 12;

/** What would be lost, a line for each volume and one for what lies on them. */
export function lossesInWords({ readable, volumes, files, names }: Losses): readonly string[] {
  if (!readable) return ['everything on it; it could not be read to say what'];
  const lines = volumes.map(({ fileSystem, label, bytes, usedBytes }) => {
    const used = usedBytes === undefined ? '' : `, ${roundedSize(usedBytes)} used`;
    return `${fileSystemInWords(fileSystem)}${label === undefined ? '' : ` "${label}"`}, ${roundedSize(bytes)}${used}`;
  });
  if (lines.length === 0) return ['nothing that can be recognised'];
  const counted = files === undefined || files === 0 ? '' : countInWords(files, 'file');
  const named = names.length === 0 ? '' : `: ${listInWords(names, mostNames)}`;
  return [...lines, files === 0 && names.length === 0 ? 'no files' : `${counted || 'files'}${named}`];
}

/** What formatting would make. */
export function planInWords({ fileSystem, clusterBytes, clusters }: FormatPlan): string {
  const cluster = clusterBytes === undefined ? '' : `, clusters of ${clusterBytes.toLocaleString('en-US')} bytes`;
  const count = clusters === undefined ? '' : ` (${clusters.toLocaleString('en-US')} of them)`;
  return `${tableInWords('mbr')} with one partition; ${fileSystemInWords(fileSystem)}${cluster}${count}`;
}

/** What becomes of a stick that came back. */
export const conclusionWords: Readonly<Record<Conclusion, { readonly word: string; readonly text: string }>> = {
  'go-again': { word: 'MAY GO AGAIN', text: 'as it is, to a panel of the same label and mode.' },
  'not-proven': {
    word: 'NOT PROVEN',
    text: 'nothing is wrong, but not everything could be checked; verify it in full before it goes again.',
  },
  'prepare-anew': { word: 'PREPARE ANEW', text: 'do not walk with it as it is.' },
  'finish-clearing': { word: 'NOT FINISHED', text: 'finish the clearing, or prepare it for its next job.' },
  retire: { word: 'RETIRE IT', text: 'a stick with read errors does not go to a panel again.' },
};
/** The end of clearing. */
export const clearingWords: Readonly<Record<ClearingState, string>> = {
  'not-asked': '',
  refused: 'Nothing was cleared.',
  declined: 'Nothing was cleared: you said no.',
  cleared: 'Cleared, and looked at again. It is EMPTY of firmware: prepare it before it goes to a panel.',
  unfinished: 'Stopped before it was done: the stick says not ready. Run the same command again; it does the rest.',
};

export const entryInWords = ({ path, kind }: SortedEntry): string => (kind === 'folder' ? `${path}/` : path);

/** Of what size, and from whom. */
export function itemInWords(item: ClearingItem): string {
  if (item.action === 'withdraw') return 'first: then the stick says not ready';
  const size = item.kind === 'folder' ? 'folder' : exactSize(item.bytes);
  return `${size}${item.changed ? ', CHANGED since it was prepared' : origins[item.what]}`;
}

const origins: Readonly<Record<LeftKind, string>> = {
  firmware: '',
  record: ', the tool’s own record',
  'panel-mark': ', left by a panel',
  'panel-log': ', log of a panel',
  'panel-file': ', file of a panel',
  'desk-mark': ', left by a computer',
  twin: ', left by a computer',
  'desk-bin': '',
  stayed: '',
  unexplained: '',
};

/** Why clearing leaves it. */
export const whyItStays: Readonly<Record<LeftKind, string>> = {
  firmware: 'holds something that stays',
  record: 'holds something that stays',
  'panel-mark': 'holds something that stays',
  'panel-log': 'log of a panel; with --keep-left DIR it is copied to the desk and goes',
  'panel-file': 'file of a panel; with --keep-left DIR it is copied to the desk and goes',
  'desk-mark': 'holds something that stays',
  twin: '',
  'desk-bin': 'from a bin or a repair; look yourself',
  stayed: 'somebody’s, there before',
  unexplained: 'unexplained; somebody’s?',
};
