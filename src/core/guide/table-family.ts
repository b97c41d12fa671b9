import { readBuild } from '../build/read-build.ts';
import type { FleetExamples } from '../label/propose-family.ts';
import { buildSchemes } from '../model/build.ts';
import type { Parts } from '../model/panel-identity.ts';
import { normaliseLabel, upperForComparing } from '../text/label-text.ts';

/** What the label and the package name on the table seem to say; a person confirms or corrects it. */
export interface TableParts {
  /** Of the label, in its order. */
  readonly label: Parts;
  /** Of these the ones that stand in the package's name as well. */
  readonly shared: readonly string[];
  /** As it stands in the package's name; undefined where nothing in it looks like one. */
  readonly build: string | undefined;
}

const stemOf = (fileName: string): string => fileName.replace(/(?:\.[a-z]{2,4}){1,2}$/i, '');

/** A version with its date, a date, a version, a number: as makers write builds, the most telling first. */
const buildShapes: readonly RegExp[] = [
  /v?\d+(?:\.\d+)+[-_]\d{8}(?:\d{4})?(?!\d)/i,
  /(?<!\d)20\d{6}(?:\d{4})?(?!\d)/,
  /(?<![\d.])v?\d+(?:\.\d+)+(?![\d.])/i,
  /(?<!\d)\d{6}(?!\d)/,
  /(?<![a-z\d])(?:[a-z]{0,4}[.-]?)?\d{2,5}(?!.*\d)/i,
];

/** Words that stand on plates and in names beside the parts that vary. */
const plainWords = new Set(
  'BY IN REV REVISION MODEL TYPE NO GEN SERIES VER VERSION FW FIRMWARE UPDATE UPGRADE OTA PACKAGE FULL ALL'.split(' '),
);

const wordsOf = (text: string): readonly string[] => text.match(/[\p{L}\p{N}]+/gu) ?? [];

/** Guesses parts by what label and name have in common, and by shapes of plates; common practice, no source. */
export function guessTableParts(labelText: string, fileName: string): TableParts {
  const stem = stemOf(fileName);
  const words = wordsOf(normaliseLabel(labelText));
  const varying = words.filter((word, at) => {
    const upper = upperForComparing(word);
    return words.indexOf(word) === at && !plainWords.has(upper) && (standsIn(stem, word) || /\d|^.{1,3}$/.test(word));
  });
  const label: Record<string, string> = {};
  for (const word of varying) label[freeName(nameFor(word, words, label), label)] = word;
  const inName = Object.values(label).filter((value) => standsIn(stem, value));
  const build = guessBuild(stem, inName);
  const rest = build === undefined ? stem : blank(stem, build);
  return { label, shared: Object.keys(label).filter((part) => standsIn(rest, label[part] ?? '')), build };
}

function nameFor(word: string, words: readonly string[], taken: Parts): string {
  const upper = upperForComparing(word);
  const before = upperForComparing(words[words.indexOf(word) - 1] ?? '');
  if (/^\d{2,3}$/.test(word) && Number(word) >= 19 && Number(word) <= 130 && taken.size === undefined) return 'size';
  if (before === 'REV' || before === 'REVISION') return 'revision';
  if (/^(EU|UK|US|AM|AP|CN|JP|AU|NA|EMEA|APAC)$/.test(upper)) return 'region';
  if (/^(FIRST|SECOND|THIRD|FOURTH|FIFTH|G\d|GEN\d|I{1,3}|IV)$/.test(upper)) return 'generation';
  return taken.series === undefined ? 'series' : 'factory';
}

function freeName(name: string, taken: Parts): string {
  for (let number = 1; ; number++) {
    const one = number === 1 ? name : `${name}${number}`;
    if (!Object.hasOwn(taken, one)) return one;
  }
}

function guessBuild(stem: string, shared: readonly string[]): string | undefined {
  const rest = shared.reduce((text, value) => blank(text, value), stem);
  return buildShapes.map((shape) => shape.exec(rest)?.[0]).find((found) => found !== undefined && isBuild(found));
}

/** Where a text stands in another, in any case. */
function placeOf(text: string, value: string): number {
  return upperForComparing(text).indexOf(upperForComparing(value));
}

/** The text without it: what is one thing is not another as well. */
function blank(text: string, value: string): string {
  const at = placeOf(text, value);
  return at < 0 ? text : text.slice(0, at) + ' '.repeat(value.length) + text.slice(at + value.length);
}

/**
 * Whether a value stands in a name as a whole: 65 is not in 650, nor 5B in 5B2. Numbers may touch letters and letters
 * numbers (24P), and a revision the word before it (revC).
 */
function standsIn(name: string, value: string): boolean {
  const text = upperForComparing(name).replace(/(?<![A-Z])(REV)(?=[A-Z\d])/g, '$1 ');
  const wanted = upperForComparing(value);
  const alike = /^\d+$/.test(wanted) ? /\d/ : /^[A-Z]+$/.test(wanted) ? /[A-Z]/ : /[A-Z\d]/;
  for (let at = text.indexOf(wanted); at >= 0 && wanted !== ''; at = text.indexOf(wanted, at + 1)) {
    const around = [text.charAt(at - 1), text.charAt(at + wanted.length)];
    if (!around.some((one) => alike.test(one))) return true;
  }
  return false;
}

export const isBuild = (text: string): boolean =>
  buildSchemes.some((scheme) => scheme !== 'letters' && readBuild(text, { scheme }).build !== undefined);

/** `size=75, series=QB; build=20240117`, as a person reads, changes and types it. */
export const writeTableParts = ({ label, build }: Pick<TableParts, 'label' | 'build'>): string =>
  [...Object.entries(label), ...(build === undefined ? [] : [['build', build] as const])]
    .map(([part, value]) => `${part}=${value}`)
    .join(', ');

type TypedParts = { readonly table: TableParts } | { readonly wrong: string };

/** Reads that line again, and says what in it cannot be: each value must stand where it is said to stand. */
export function readTableParts(line: string, labelText: string, fileName: string): TypedParts {
  const label: Record<string, string> = {};
  let build: string | undefined;
  for (const pair of line.split(/[,;]/).filter((one) => one.trim() !== '')) {
    const [, part = '', value = ''] = /^\s*([A-Za-z]\w*)\s*[=:]\s*(.*?)\s*$/.exec(pair) ?? [];
    if (part === '') return { wrong: `"${pair.trim()}" is not written like size=75.` };
    if (part === 'text') return { wrong: 'No part can be called text.' };
    if (Object.hasOwn(label, part) || (part === 'build' && build !== undefined))
      return { wrong: `${part} stands there twice.` };
    if (value === '') continue;
    if (part === 'build') build = value;
    else label[part] = value;
  }
  const has = (text: string, value: string): boolean => upperForComparing(text).includes(upperForComparing(value));
  const rest = build === undefined ? stemOf(fileName) : blank(stemOf(fileName), build);
  const missing = Object.entries(label).find(([, value]) => !has(normaliseLabel(labelText), value));
  if (missing !== undefined) return { wrong: `${missing[0]}: "${missing[1]}" does not stand in the label.` };
  if (Object.keys(label).length === 0) return { wrong: 'The label needs at least one part, such as size=75.' };
  if (build !== undefined && !has(fileName, build)) return { wrong: `"${build}" does not stand in the file name.` };
  if (build !== undefined && !isBuild(build))
    return { wrong: `"${build}" reads as no date, version or number that could be compared with another build.` };
  const shared = Object.keys(label).filter((part) => standsIn(rest, label[part] ?? ''));
  return { table: { label, shared, build } };
}

/** A short name for the family: the first word of the package's name that is no part, or of the label. */
export function guessFamilyName(labelText: string, fileName: string, { label }: TableParts, taken: readonly string[]) {
  const values = new Set(Object.values(label).map(upperForComparing));
  const words = [...wordsOf(stemOf(fileName)), ...wordsOf(normaliseLabel(labelText))].filter((word) => {
    const upper = upperForComparing(word);
    return /^[A-Za-z]{3,}$/.test(word) && !values.has(upper) && !plainWords.has(upper);
  });
  const name = words[0]?.toLowerCase() ?? 'panels';
  for (let number = 1; ; number++) {
    const one = number === 1 ? name : `${name}-${number}`;
    if (!taken.includes(one)) return one;
  }
}

interface OnTheTable {
  readonly family: string;
  readonly label: string;
  readonly fileName: string;
  readonly table: TableParts;
  readonly by: string;
  /** Where it was read that the package is made for this label, part by part. */
  readonly whereRead: Parts;
  /** The build that the package brings, where its name does not say. */
  readonly saidBuild: string | undefined;
}

/** What a family can be made of, from one label and one package: all of it on somebody's word. */
export function tableExamples({ family, label, fileName, table, by, whereRead, saidBuild }: OnTheTable): FleetExamples {
  const inName = Object.fromEntries(table.shared.map((part) => [part, table.label[part] ?? '']));
  return {
    family,
    title: `${family.charAt(0).toUpperCase()}${family.slice(1)} panels`,
    labels: [{ text: label, parts: table.label }],
    packages: [{ text: fileName, parts: { ...inName, ...(table.build === undefined ? {} : { build: table.build }) } }],
    absent: {},
    nameSaysNothing: table.shared.length === 0 ? true : undefined,
    saidBuild,
    madeFrom: { by, whereRead },
  };
}
