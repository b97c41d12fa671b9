import type { EntryName } from '../../archive-format/read-central-directory.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/**
 * The Unicode path extra (APPNOTE 4.6.9) gives a name again that the header could only write with the letters of a code
 * page. So only what lies beyond ASCII may differ; where the ASCII parts differ as well, readers that know the extra and
 * those that do not see two different trees.
 */
export function checkNameReadings(
  nameBytes: Uint8Array,
  name: EntryName,
  subject: string,
  offset: number,
): readonly Finding[] {
  if (name.shown === name.plain || isRendering(nameBytes, name.shown)) return [];
  return [finding('archive/two-names', subject, { offset, shown: name.shown, plain: name.plain })];
}

/** Whether `bytes` can be `text` with each run of letters beyond ASCII put in other bytes, or in marks such as `_`, `?`. */
function isRendering(bytes: Uint8Array, text: string): boolean {
  const runs = text.split(/[^\x00-\x7f]+/);
  if (runs.length === 1) return false;
  const written = String.fromCharCode(...bytes);
  const first = runs[0] ?? '';
  const last = runs.at(-1) ?? '';
  if (!written.startsWith(first) || !written.endsWith(last) || written.length < first.length + last.length)
    return false;
  let at = first.length;
  for (const run of runs.slice(1, -1)) {
    const found = written.indexOf(run, at);
    if (found === -1) return false;
    at = found + run.length;
  }
  const slashes = (name: string): number => name.split('/').length;
  return at <= written.length - last.length && slashes(written) === slashes(text);
}
