/** Sentences that several archive findings share. */
export const downloadAgain =
  'Download the archive again from the maker’s support page, then run this check again. Do not repair it by hand.';

export const askTheMaker =
  'Download the archive again from the maker’s support page. If the fresh copy is the same, ask the maker; do not zip it again yourself, that would break its signature.';

export const twoTrees =
  'Two programs would unpack two different things from it. What was checked here may not be what the panel installs.';

/** "entry "name" (byte 42)". */
export const placed = (subject: string, offset: number): string => `${named(subject)} (byte ${offset})`;

export const named = (subject: string): string => (subject === '' ? 'The archive' : `Entry "${visible(subject)}"`);

const longestShown = 160;

/** Control characters shown by their pictures and length bounded, so that a hostile name cannot fill the terminal. */
export const visible = (text: string): string =>
  (text.length <= longestShown ? text : `${text.slice(0, longestShown)}…`)
    .replace(/[\x00-\x1f]/g, (char) => String.fromCodePoint(0x2400 + char.charCodeAt(0)))
    .replace(/[\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g, '\ufffd');

export const bytesOf = (count: number): string => `${count.toLocaleString('en-US')} byte${count === 1 ? '' : 's'}`;
