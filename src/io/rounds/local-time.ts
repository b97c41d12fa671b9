/** Clocks of two desks differ; more than that is a slip of the hand. */
const mostAheadMs = 5 * 60_000;

/** The moment that a person typed, or now; else what is wrong with it, and what to do. */
export function readTimeSaid(
  text: string | undefined,
  nowMs: number,
): { readonly at: string } | { readonly problem: string; readonly todo: string } {
  if (text === undefined) return { at: localTime(new Date(nowMs)) };
  const at = parseTime(text, nowMs);
  if (at === undefined) {
    const todo = 'Write 07:40 for today, 2026-11-03 07:40 in local time, or `2026-11-03T07:40:00+01:00`.';
    return { problem: `"${text}" is no time.`, todo };
  }
  if (Date.parse(at) <= nowMs + mostAheadMs) return { at };
  const todo = 'Say when it was done; write the day as well if it was not today.';
  return { problem: `${text} lies in the future.`, todo };
}

/**
 * RFC 3339, in local time where nothing else is said, from what a person writes: RFC 3339 itself, `2026-11-03 07:40`,
 * `3.11.2026 07:40`, or `07:40` for today. Undefined where it is no time, or none that the local clock ever shows.
 */
export function parseTime(text: string, nowMs: number): string | undefined {
  const words = text.normalize('NFKC').trim();
  const exact = /^(\d{4}-\d{2}-\d{2})[Tt ](\d{2}:\d{2})(:\d{2}(?:\.\d+)?)?([Zz]|[+-]\d{2}:\d{2})$/.exec(words);
  if (exact !== null) return readExact(exact);
  const [, year, month, day, iso] =
    /^(\d{4})-(\d{1,2})-(\d{1,2})[Tt ]+(\d{1,2}[:.]\d{2}(?:[:.]\d{2})?)$/.exec(words) ?? [];
  if (iso !== undefined) return toLocal(Number(year), Number(month), Number(day), iso);
  const [, dayFirst, then, fullYear, clock] =
    /^(\d{1,2})\.(\d{1,2})\.(\d{4})[ ,]+(\d{1,2}[:.]\d{2}(?:[:.]\d{2})?)$/.exec(words) ?? [];
  if (clock !== undefined) return toLocal(Number(fullYear), Number(then), Number(dayFirst), clock);
  if (!/^\d{1,2}[:.]\d{2}$/.test(words)) return undefined;
  const today = new Date(nowMs);
  return toLocal(today.getFullYear(), today.getMonth() + 1, today.getDate(), words);
}

function readExact([, day = '', clock = '', seconds = ':00', zone = '']: RegExpExecArray): string | undefined {
  const text = `${day}T${clock}${seconds}${zone.toUpperCase()}`;
  const utc = new Date(`${day}T${clock}${seconds}Z`);
  // A day that does not exist would move on to the next month.
  return Number.isNaN(Date.parse(text)) || !utc.toISOString().startsWith(`${day}T${clock}`) ? undefined : text;
}

function toLocal(year: number, month: number, day: number, clock: string): string | undefined {
  const [hour = 0, minute = 0, second = 0] = clock.split(/[:.]/).map(Number);
  const at = new Date(year, month - 1, day, hour, minute, second);
  const isShown =
    at.getFullYear() === year &&
    at.getMonth() === month - 1 &&
    at.getDate() === day &&
    at.getHours() === hour &&
    at.getMinutes() === minute &&
    at.getSeconds() === second;
  return isShown ? localTime(at) : undefined;
}

/** `2026-11-03T07:40:12+01:00`: the moment as the clock on the wall shows it. */
export function localTime(at: Date): string {
  const two = (number: number): string => String(number).padStart(2, '0');
  const offset = -at.getTimezoneOffset();
  const zone = `${offset < 0 ? '-' : '+'}${two(Math.floor(Math.abs(offset) / 60))}:${two(Math.abs(offset) % 60)}`;
  const day = `${String(at.getFullYear()).padStart(4, '0')}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  return `${day}T${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}${zone}`;
}
