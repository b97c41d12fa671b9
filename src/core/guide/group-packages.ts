import { readPackageName } from '../label/read-label.ts';
import type { Family } from '../model/family.ts';
import type { Parts } from '../model/panel-identity.ts';
import { groupBy } from '../text/words.ts';
import { guessFamilyName, guessTableParts } from './table-family.ts';

/** Packages that seem to be of one kind, with what varies in their names. */
export interface PackageGroup {
  readonly name: string;
  readonly packages: readonly { readonly text: string; readonly parts: Parts }[];
  /** What varies, the build apart: these are the parts to look for on the labels. */
  readonly parts: readonly string[];
}

const piecesOf = (stem: string): readonly string[] => stem.split(/[_\- ]+/);

/** Groups names that no family reads by first word and number of pieces, and says what varies in each group. */
export function groupPackages(names: readonly string[], families: readonly Family[]): readonly PackageGroup[] {
  const unknown = names.filter((name) => readPackageName(name, families).readings.length === 0);
  const taken = families.map(({ family }) => family);
  return [...groupBy(unknown, kindOf).values()].map((alike) => {
    const [first = ''] = alike;
    const name = guessFamilyName('', first, { label: {}, shared: [], build: undefined }, taken);
    taken.push(name);
    const packages = alike.map((text) => ({ text, parts: partsOf(text, alike) }));
    const parts = [...new Set(packages.flatMap((one) => Object.keys(one.parts)))].filter((part) => part !== 'build');
    return { name, packages, parts };
  });
}

const stemOf = (name: string): string => name.replace(/\.zip$/i, '');

const kindOf = (name: string): string => {
  const first = /[A-Za-z]{2,}/.exec(name)?.[0].toLowerCase() ?? '';
  return `${first} ${piecesOf(stemOf(name)).length}`;
};

/** A piece that is not the same in all names is a part; the build is what reads as one. */
function partsOf(name: string, alike: readonly string[]): Parts {
  const { build } = guessTableParts('', name);
  const parts: Record<string, string> = {};
  for (const [at, piece] of piecesOf(stemOf(name)).entries()) {
    const others = new Set(alike.map((one) => piecesOf(stemOf(one))[at]?.toUpperCase()));
    if (others.size < 2 || (build !== undefined && (piece.includes(build) || build.includes(piece)))) continue;
    const isSize = [...others].every((one) => /^\d{2,3}$/.test(one ?? ''));
    parts[isSize && parts.size === undefined ? 'size' : `part${at + 1}`] = piece;
  }
  return build === undefined ? parts : { ...parts, build };
}
