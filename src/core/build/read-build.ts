import type { Build, BuildReading } from '../model/build.ts';
import type { BuildScheme, SixDigitForm } from '../model/family.ts';
import { toNumeral } from './numeral.ts';
import { readDate } from './read-date.ts';
import { readVersion } from './read-version.ts';

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
