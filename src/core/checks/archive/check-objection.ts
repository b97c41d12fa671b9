import { type Finding, finding } from '../../findings/finding.ts';
import { verdictOf } from '../../findings/verdict.ts';

/** `objection`: why the second directory reader refused the archive; `found`: what was found without it. */
export function checkObjection(objection: string | undefined, found: readonly Finding[]): readonly Finding[] {
  // Where our own reader already stopped for a reason with a name, the library's words would only repeat it.
  if (objection === undefined || verdictOf(found) === 'not-ready') return [];
  return [finding('archive/library-objects', '', { objection })];
}
