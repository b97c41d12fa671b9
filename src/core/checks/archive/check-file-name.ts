import { type Finding, finding } from '../../findings/finding.ts';
import { findInvisible, invisibleInWords } from '../../label/invisible-characters.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';

const partDownload = /\.(part|partial|crdownload|opdownload|download|filepart|!ut|aria2|tmp)$/i;
const setPart = /\.(?:z(\d{2,})|zip\.(\d{3,})|part(\d+)\.(?:zip|rar|exe)|(\d{3}))$/i;

/** What browsers and file managers add to a second copy; the rest is the maker's name. */
const copyMarks: readonly (readonly [RegExp, string])[] = [
  [/^(.+?)( ?\(\d+\))(\.[a-z0-9]+)$/i, '$1$3'],
  [/^(.+?)( - [^.]*\bcopy(?: ?\(\d+\))?)(\.[a-z0-9]+)$/i, '$1$3'],
  [/^(.+?)( copy(?: \d+)?)(\.[a-z0-9]+)$/i, '$1$3'],
  [/^(.+)(\.zip)(\.zip)$/i, '$1$3'],
  [/^(.+\.zip)(\.(?:txt|html?|bin|download))$/i, '$1'],
];

/** The shapes that downloads, browsers and split archives give to names, and what in the name cannot be seen. */
export const checkFileName = (facts: ArchiveFacts): readonly Finding[] => [
  ...checkInvisibleName(facts.fileName),
  ...checkShape(facts),
];

function checkInvisibleName(fileName: string): readonly Finding[] {
  const found = findInvisible(fileName);
  if (found.length === 0) return [];
  return [finding('archive/name-invisible', fileName, { places: invisibleInWords(found) })];
}

function checkShape({ fileName, entries }: ArchiveFacts): readonly Finding[] {
  const ending = partDownload.exec(fileName)?.[0];
  if (ending !== undefined) return [finding('archive/name-of-part-download', fileName, { ending })];
  const part = setPart
    .exec(fileName)
    ?.slice(1)
    .find((digits) => digits !== undefined);
  if (part !== undefined) return [finding('archive/name-of-set-part', fileName, { part })];
  for (const [pattern, original] of copyMarks) {
    const match = pattern.exec(fileName);
    if (match !== null) {
      const facts = { mark: (match[2] ?? '').trim(), original: fileName.replace(pattern, original) };
      return [finding('archive/name-of-copy', fileName, facts)];
    }
  }
  return entries.length > 0 && !/\.zip$/i.test(fileName) ? [finding('archive/name-not-zip', fileName)] : [];
}
