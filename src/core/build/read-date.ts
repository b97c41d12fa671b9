import type { TimeSpan } from '../model/build.ts';
import type { SixDigitForm } from '../model/family.ts';

export type DateReading =
  | {
      readonly span: TimeSpan /** ISO 8601 dates that it may mean; more than one is ambiguous. */;
      readonly readings: readonly string[];
    }
  | { readonly span: undefined; readonly because: string };

interface Day {
  readonly year: number;
  readonly month: number;
  readonly day: number;
}

/** Years that a build can plausibly have: panels' clocks start at 1970. Common practice, no source. */
const firstYear = 1970;
const lastYear = 2099;

/**
 * Reads 8 digits (YYYYMMDD, ISO 8601 basic date), 12 digits (YYYYMMDDhhmm, with or without the T of the basic date and time),
 * 2024-01-17 (ISO 8601 extended date) or 6 digits. Six digits say nothing about their order: without a form they span
 * every date that they may mean.
 */
export function readDate(text: string, sixDigits?: SixDigitForm): DateReading {
  const digits = text.replace(/^(\d{4})-(\d{2})-(\d{2})$/, '$1$2$3').replace(/^(\d{8})T(\d{4})$/, '$1$2');
  if (!/^\d+$/.test(digits)) return { span: undefined, because: 'a date has digits only' };
  switch (digits.length) {
    case 8:
      return ofDays([dayAt(digits, 'YYYYMMDD')]);
    case 12:
      return ofMinute(digits);
    case 6: {
      const forms = sixDigits === undefined ? (['YYMMDD', 'DDMMYY', 'MMDDYY'] as const) : [sixDigits];
      return ofDays(forms.map((form) => dayAt(digits, form)));
    }
    default:
      return { span: undefined, because: `${digits.length} digits are no date; 6, 8 or 12 are` };
  }
}

function dayAt(digits: string, form: SixDigitForm | 'YYYYMMDD'): Day {
  const at = (letter: string): number => {
    const start = form.indexOf(letter);
    return Number(digits.slice(start, form.lastIndexOf(letter) + 1));
  };
  return { year: form.length === 8 ? at('Y') : 2000 + at('Y'), month: at('M'), day: at('D') };
}

function daysIn({ year, month }: Day): number {
  if (month === 2) return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0 ? 29 : 28;
  return [4, 6, 9, 11].includes(month) ? 30 : 31;
}

const isDay = (date: Day): boolean =>
  date.year >= firstYear &&
  date.year <= lastYear &&
  date.month >= 1 &&
  date.month <= 12 &&
  date.day >= 1 &&
  date.day <= daysIn(date);

const dayNumber = ({ year, month, day }: Day): number => (year * 100 + month) * 100 + day;

const two = (value: number): string => String(value).padStart(2, '0');
const isoDay = ({ year, month, day }: Day): string => `${year}-${two(month)}-${two(day)}`;

function ofDays(days: readonly Day[]): DateReading {
  const valid = days.filter(isDay);
  if (valid.length === 0) return { span: undefined, because: 'there is no such day' };
  const numbers = valid.map(dayNumber);
  return {
    span: { earliest: Math.min(...numbers) * 10_000, latest: Math.max(...numbers) * 10_000 + 2359 },
    readings: [...new Set(valid.map(isoDay))],
  };
}

function ofMinute(digits: string): DateReading {
  const day = dayAt(digits.slice(0, 8), 'YYYYMMDD');
  const hour = Number(digits.slice(8, 10));
  const minute = Number(digits.slice(10));
  if (!isDay(day)) return { span: undefined, because: 'there is no such day' };
  if (hour > 23 || minute > 59) return { span: undefined, because: 'there is no such time of day' };
  const moment = dayNumber(day) * 10_000 + hour * 100 + minute;
  return { span: { earliest: moment, latest: moment }, readings: [`${isoDay(day)}T${two(hour)}:${two(minute)}`] };
}
