import { type Finding, finding } from '../../findings/finding.ts';
import type { Round } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { withoutWithdrawn } from '../cards/stick-codes.ts';

/**
 * Whether a stick may be written anew, by the code that its manifest gives. One that was prepared for this round and that
 * nobody recorded as come back may be counted on by somebody.
 */
export function checkReuse(
  target: string,
  code: string | undefined,
  round: Round,
  records: readonly RoundRecord[],
): readonly Finding[] {
  const last = withoutWithdrawn(records)
    .filter((record) => (record.kind === 'prepared' || record.kind === 'returned') && record.stick === code)
    .toSorted((a, b) => Date.parse(a.at) - Date.parse(b.at))
    .at(-1);
  if (code === undefined || last?.kind !== 'prepared') return [];
  const load = round.loads.find(
    ({ package: { sha256 }, mode }) => sha256 === last.package?.sha256 && mode === last.mode,
  );
  const facts = { code, load: load?.id ?? last.load, rooms: load?.rooms ?? [] };
  return [finding('round/stick-still-out', target, facts)];
}
