import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveFacts } from '../../model/archive-facts.ts';
import type { Mode } from '../../model/mode.ts';

const archives = /\.(zip|rar|7z|tar|tgz|tar\.(gz|xz|bz2|zst))$/i;
const papers =
  /\.(pdf|txt|md|html?|docx?|odt|rtf|xlsx?|csv|pptx?|png|jpe?g|gif|url|webloc|sha(1|256|512)(sum)?|md5(sum)?|asc|sig)$|(^|\/)(readme|license|licence|changelog|(sha(1|256|512)|md5)sums?|\.DS_Store|Thumbs\.db|desktop\.ini)$|^__MACOSX\//i;

/**
 * Nothing but archives, perhaps with papers: the firmware is probably one level further in. Which of the two the panel
 * wants is the maker's word, so it is asked, never guessed. `wanted`: the family says that such a file belongs at the
 * root.
 */
export function checkWrapper(
  facts: ArchiveFacts,
  mode: Mode | undefined,
  wanted: (name: string) => boolean,
): readonly Finding[] {
  const files = facts.entries.filter(({ folder }) => !folder).map(({ name }) => name);
  const inner = files.filter((name) => archives.test(name) && !papers.test(name));
  const others = files.filter((name) => !inner.includes(name));
  if (inner.length === 0 || !others.every((name) => papers.test(name)) || inner.some(wanted)) return [];
  const found = { inner: inner.map((name) => name), papers: others.length };
  return mode === 'in-os'
    ? [finding('archive/wrapper', facts.fileName, found)]
    : [finding('archive/wrapper-seen', facts.fileName, found)];
}
