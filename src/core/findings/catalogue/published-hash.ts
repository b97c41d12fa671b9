import { define, type NoFacts } from '../define.ts';
import { bytesOf, downloadAgain, visible } from './archive-words.ts';

/** The archive against what its maker published about it. */
export const publishedHashFindings = {
  'archive/hash-matches': define<{ algorithm: string; from: string }>({
    severity: 'note',
    title: 'The published hash is right',
    seen: ({ algorithm, from }) => `The ${algorithm} given by ${visible(from)} is that of this file.`,
    why: 'The file is byte for byte the one that hash was made from.',
    todo: 'Nothing.',
    source: 'FIPS 180-4; RFC 1321',
  }),
  'archive/as-kept': define<{ algorithm: string; from: string }>({
    severity: 'note',
    title: 'As the desk kept it',
    seen: ({ algorithm, from }) => `The ${algorithm} in ${visible(from)} is that of this file.`,
    why: 'It did not change since. Whether it is what its maker published was not proven then, and this does not prove it.',
    todo: 'Nothing.',
    source: 'FIPS 180-4',
  }),
  'archive/hash-differs': define<{ algorithm: string; from: string; published: string; computed: string }>({
    severity: 'stop',
    title: 'The published hash is another one',
    seen: ({ algorithm, from, published, computed }) =>
      `${algorithm} by ${visible(from)}: ${published}; of this file: ${computed}.`,
    why: 'This is not the file that was published: another build, a damaged download, or a changed file. Installing it can ruin the panel.',
    todo: `Compare the build and the hash on the support page. ${downloadAgain}`,
    source: 'FIPS 180-4; RFC 1321',
  }),
  'archive/hash-weak': define<{ algorithm: string; from: string }>({
    severity: 'caution',
    title: 'Only a weak hash was published',
    seen: ({ algorithm, from }) => `${visible(from)} gives only ${algorithm}.`,
    why: 'It shows damage on the way, but a forger can make another file with the same value.',
    todo: 'If the maker publishes a SHA-256 as well, give it with --expect-sha256.',
    source: 'RFC 6151 (MD5); NIST SP 800-131A (SHA-1)',
  }),
  'archive/hash-crc-only': define<{ from: string }>({
    severity: 'unproven',
    title: 'Only a CRC-32 was published',
    seen: ({ from }) => `${visible(from)} gives a CRC-32 and nothing else.`,
    why: 'It shows most damage on the way, and nothing more: any other file can be given the same value in a moment, so it does not show that this is what the maker published.',
    todo: 'Look for a SHA-256 on the support page and give it with --expect-sha256. If the maker publishes nothing better, say so in the family file: published-hash: none.',
    source: 'ITU-T V.42, 8.1.1.6.2 (CRC-32); RFC 3385, 1: made against accidents',
  }),
  'archive/hash-list-not-used': define<{ because: 'kind' | 'too-long' | 'unopened'; most: number }>({
    severity: 'caution',
    title: 'A checksum file beside the archive was seen and not used',
    seen: ({ because, most }, subject) =>
      `${visible(subject)} ${because === 'kind' ? 'is a checksum file of a kind that is not read here' : because === 'too-long' ? `has more than ${bytesOf(most)}, too much for a list` : 'could not be opened'}.`,
    why: 'What its maker published there was not compared with the archive.',
    todo: 'Check it by its own program, or copy a SHA-256 or SHA-512 from the support page and give it with --expect-sha256 or --expect-sha512. A very long list: keep the line of this archive in a file named after it, ending in .sha256.',
    source: 'common practice, no source',
  }),
  'archive/hash-list-unreadable': define<{ line: number; text: string }>({
    severity: 'caution',
    title: 'The checksum file could not be read',
    seen: ({ line, text }, subject) =>
      `${visible(subject)}, line ${line}: "${visible(text)}" is no checksum in any known form.`,
    why: 'What the maker published could not be compared in full.',
    todo: 'Download the checksum file again, or copy the value from the support page and give it with --expect-sha256.',
    source: 'common practice: forms of coreutils and BSD',
  }),
  'archive/hash-list-silent': define<{ names: readonly string[] }>({
    severity: 'caution',
    title: 'The checksum file does not name this archive',
    seen: ({ names }, subject) =>
      `${visible(subject)} names ${names.length === 0 ? 'nothing' : names.slice(0, 3).map(visible).join(', ')}${names.length > 3 ? ` and ${names.length - 3} more` : ''}, not this file.`,
    why: 'The archive was renamed, or the list belongs to another download.',
    todo: 'Compare the file name with the support page, or give the value with --expect-sha256.',
    source: 'common practice',
  }),
  'archive/no-published-hash': define<NoFacts>({
    severity: 'unproven',
    title: 'No published hash to compare with',
    seen: () => 'No hash was given, and no checksum file of its maker lies beside the archive.',
    why: 'However whole an archive is in itself, nothing shows that it is the one the maker published.',
    todo: 'Copy the hash from the support page and give it with --expect-sha256, or save the checksum file beside the archive. Of a package on the shelf: give it to stickwright shelf add with the same file once more, which settles it for all sticks to come. If the maker publishes none, say so in the family file: published-hash: none.',
    source: 'common practice',
  }),
};
