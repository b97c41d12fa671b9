import type { Family } from './family.ts';

/** A named part of a label or a package name: `{ size: '75', series: '5B', generation: 'SECOND', factory: 'K2' }`. */
export type Parts = Readonly<Record<string, string>>;

/** A label as a person typed it, and what the families make of it. */
export interface LabelReading {
  /** As typed. */
  readonly text: string;
  /** Unicode dashes, NFKC and spaces normalised; the case is kept. */
  readonly normalised: string;
  /** The families whose grammar reads it; none or several are findings. */
  readonly readings: readonly { readonly family: Family; readonly parts: Parts }[];
}

/** A package's file name and what the families make of it. */
export interface PackageReading {
  readonly fileName: string;
  readonly readings: readonly {
    readonly family: Family;
    /** Everything the pattern names except the build. */
    readonly parts: Parts;
    readonly build: string | undefined;
    /** The parts that must be equal to the label's. */
    readonly agree: readonly string[];
  }[];
}

/** One part of a comparison between a label and a package (or another label). */
export interface PartComparison {
  readonly part: string;
  readonly label: string | undefined;
  readonly other: string | undefined;
  /** `misread`: equal only after folding look-alike characters. `missing`: one side does not say. */
  readonly relation: 'equal' | 'differs' | 'misread' | 'missing';
}

export interface Fit {
  readonly answer: 'fits' | 'differs' | 'cannot-tell';
  readonly parts: readonly PartComparison[];
}
