import type { RoundRecord, Visit } from '../../model/round-record.ts';
import type { VisitReading } from './read-visit.ts';

/** `2026-11-03 07:40 +01:00`: as the person's clock showed it, which is what they remember. */
export const timeInWords = (at: string): string =>
  at.replace(
    /^(\d{4}-\d{2}-\d{2})T(\d{2}:\d{2})(?::[\d.]+)?(Z|[+-]\d{2}:\d{2})$/i,
    (_, day, time, zone) => `${day} ${time}${/^(z|[+-]00:00)$/i.test(zone) ? ' UTC' : ` ${zone}`}`,
  );

/** What a record says, without its room and its writer. */
export function recordInWords(record: RoundRecord): string {
  switch (record.kind) {
    case 'prepared':
      return `stick ${record.stick ?? 'without a code'} prepared with load ${record.load}`;
    case 'visit':
      return visitInWords(record);
    case 'approval':
      return `wipe approved by ${record.by}`;
    case 'returned':
      return `stick ${record.stick} came back ${record.state}${record.cleared ? ' and was cleared' : ''}`;
    case 'withdrawn':
      return `line ${record.withdraws} withdrawn: ${record.because}`;
  }
}

function visitInWords({ outcome, buildAfter, text, stick, wiped }: Visit): string {
  const brought = stick === null ? '' : `, stick ${stick}`;
  const lost = wiped ? ', wiped' : '';
  const said = text === null ? '' : `: "${text}"`;
  if (outcome === 'done') return `done, shows ${buildAfter ?? 'a build that was not read'}${brought}${lost}${said}`;
  return `${outcome}${said}${brought}${lost}`;
}

/** One reading, as one of two that disagree. */
export function saidInWords({ visit, result, because }: VisitReading): string {
  if (because === 'unchanged') return `it still shows ${visit.buildAfter}`;
  if (visit.outcome === 'done') return visit.buildAfter === null ? 'done' : `it shows ${visit.buildAfter}`;
  return visit.text === null ? result : `${result} ("${visit.text}")`;
}
