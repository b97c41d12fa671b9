export const buildSchemes = ['date', 'version', 'counter', 'letters', 'version-date'] as const;

/** How a maker writes builds; builds are only ever compared within one scheme. */
export type BuildScheme = (typeof buildSchemes)[number];

/** A stretch of time as two minutes, each the number YYYYMMDDhhmm; a day is 00:00 to 23:59. */
export interface TimeSpan {
  readonly earliest: number;
  readonly latest: number;
}

/** Digits without leading zeros, so that a number of any length can be compared. */
export type Numeral = string;

export interface Version {
  readonly numbers: readonly Numeral[];
  /** Pre-release identifiers as SemVer 2.0.0 section 9 has them; empty for a release. */
  readonly preRelease: readonly string[];
  /** Build metadata, SemVer 2.0.0 section 10; it does not order. */
  readonly metadata: string;
}

/** A build that could be read; builds of different schemes are never compared. */
export type Build = { readonly text: string } & (
  | { readonly scheme: 'date'; readonly span: TimeSpan; readonly readings: readonly string[] }
  | { readonly scheme: 'version'; readonly version: Version }
  | { readonly scheme: 'counter'; readonly prefix: string; readonly count: Numeral }
  | { readonly scheme: 'letters'; readonly letters: string; readonly count: Numeral }
  | {
      readonly scheme: 'version-date';
      readonly version: Version;
      readonly span: TimeSpan;
      readonly readings: readonly string[];
    }
);

export type BuildReading =
  | { readonly build: Build }
  | { readonly build: undefined; readonly scheme: BuildScheme; readonly because: string };

/** `cannot-order` is an answer: two schemes, an ambiguous date, parts that pull apart. */
export type BuildOrder = 'newer' | 'same' | 'older' | 'cannot-order';
