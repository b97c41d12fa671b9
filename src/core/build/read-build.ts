import type { Build, BuildReading, BuildScheme, TimeSpan, Version } from '../model/build.ts';
import type { SixDigitForm } from '../model/family.ts';
import { toNumeral } from '../text/words.ts';

export interface BuildRules {
  readonly scheme: BuildScheme;
  readonly 'six-digits'?: SixDigitForm | undefined;
}

/** Longer texts are no builds. */
const longestBuild = 80;

/** Reads a build as its family's scheme writes it; a date that does not exist is not read. */
export function readBuild(text: string, rules: BuildRules): BuildReading {
  const trimmed = text.normalize('NFKC').trim();
  const no = (because: string): BuildReading => ({ build: undefined, scheme: rules.scheme, because });
  const yes = (build: Build): BuildReading => ({ build });
  if (trimmed.length > longestBuild) return no(`it is longer than ${longestBuild} characters`);
  switch (rules.scheme) {
    case 'date': {
      const date = readDate(trimmed, rules['six-digits']);
      return date.span === undefined ? no(date.because) : yes({ text: trimmed, scheme: 'date', ...date });
    }
    case 'version': {
      const version = readVersion(trimmed);
      return version === undefined
        ? no('it is no version such as 1.10.2')
        : yes({ text: trimmed, scheme: 'version', version });
    }
    case 'counter': {
      const [, prefix, digits] = /^([A-Za-z]{0,6}[-_.]?)(\d{1,40})$/.exec(trimmed) ?? [];
      if (prefix === undefined || digits === undefined) return no('it is no plain number such as 1047 or R1047');
      return yes({ text: trimmed, scheme: 'counter', prefix: prefix.toUpperCase(), count: toNumeral(digits) });
    }
    case 'letters': {
      const [, letters, digits = ''] = /^([A-Za-z]{1,6})(\d{0,9})$/.exec(trimmed) ?? [];
      if (letters === undefined) return no('it is no run of letters such as C, AA or B2');
      return yes({ text: trimmed, scheme: 'letters', letters: letters.toUpperCase(), count: toNumeral(digits || '0') });
    }
    case 'version-date':
      return readVersionDate(trimmed, rules['six-digits']);
  }
}

function readVersionDate(text: string, sixDigits: SixDigitForm | undefined): BuildReading {
  const no = (because: string): BuildReading => ({ build: undefined, scheme: 'version-date', because });
  const [, versionText, digits] = /^(.+?)[-_. ](\d{12}|\d{8}|\d{6})$/.exec(text) ?? [];
  if (versionText === undefined || digits === undefined)
    return no('it is no version and date such as V1.02.03_20240117');
  const version = readVersion(versionText);
  if (version === undefined) return no(`${versionText} is no version such as V1.02.03`);
  const date = readDate(digits, sixDigits);
  if (date.span === undefined) return no(`${digits}: ${date.because}`);
  return { build: { text, scheme: 'version-date', version, ...date } };
}

type DateReading =
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
 * Reads 8 digits (YYYYMMDD, ISO 8601 basic date), 12 digits (YYYYMMDDhhmm, with or without the T of the basic date and
 * time), 2024-01-17 (ISO 8601 extended date) or 6 digits. Six digits say nothing about their order: without a form they
 * span every date that they may mean.
 */
function readDate(text: string, sixDigits?: SixDigitForm): DateReading {
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

/** V1.02.03, 3.10, 2.0.0-rc.1+5: numbers as makers write them, then what SemVer 2.0.0 sections 9 and 10 allow. */
const shape = /^v?(\d+(?:\.\d+){0,5})(?:-([0-9a-z-]+(?:\.[0-9a-z-]+)*))?(?:\+([0-9a-z-]+(?:\.[0-9a-z-]+)*))?$/i;

/** Reads a version; undefined where it is none. Leading zeros and a `V` are as makers write them and do not count. */
function readVersion(text: string): Version | undefined {
  const [, numbers, preRelease, metadata = ''] = shape.exec(text) ?? [];
  if (numbers === undefined) return undefined;
  return { numbers: numbers.split('.').map(toNumeral), preRelease: preRelease?.split('.') ?? [], metadata };
}
