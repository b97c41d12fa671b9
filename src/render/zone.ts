/** RFC 3339 as documents and records have it, standing by itself; not where it is to be copied. */
const moment =
  /(?<![\w:./+`"-]|--at )\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:\d{2})(?![\w:/+`"-]|\.\w)/g;

/** UTC where TZ is empty or names none, as the system's programs take it; Node then has a zone that nobody knows. */
export function zoneOfDesk(): string {
  const { timeZone } = Intl.DateTimeFormat().resolvedOptions();
  return timeZone === undefined || timeZone === 'Etc/Unknown' ? 'UTC' : timeZone;
}

/**
 * A text for people, with every moment in it by the desk's clock and with the zone's name: `2026-11-28 19:24 CET`.
 * Documents and JSON stay as they are.
 */
export const inZone = (text: string, zone = zoneOfDesk()): string =>
  text.replace(moment, (said) => {
    const at = new Date(said);
    if (Number.isNaN(at.getTime())) return said;
    const { year, month, day, hour, minute, timeZoneName } = partsOf(at, zone);
    return `${year}-${month}-${day} ${hour}:${minute} ${timeZoneName}`;
  });

/** Its day there: `2026-11-28`. */
export const dayInZone = (said: string, zone = zoneOfDesk()): string => inZone(said, zone).slice(0, 10);

/** British English has names for the zones of Europe, and hours from UTC for all others (Unicode CLDR). */
function partsOf(at: Date, timeZone: string): Readonly<Record<string, string>> {
  const format = new Intl.DateTimeFormat('en-GB', {
    timeZone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
    timeZoneName: 'short',
  });
  return Object.fromEntries(format.formatToParts(at).map(({ type, value }) => [type, value]));
}
