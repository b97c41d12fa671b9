import type { Fit, PartComparison, Parts } from '../model/panel-identity.ts';
import { foldLookAlikes, normaliseLabel, upperForComparing } from '../text/label-text.ts';
import { longestText, partOf } from './read-with-grammar.ts';

/**
 * Compares the parts that must agree, each as a whole and without regard to case. It fits only where all are equal as
 * written; a part that is equal only after folding look-alikes, or that one side does not have, leaves it open; a part
 * that differs settles it.
 */
export function compareFit(label: Parts, other: Parts, agree: readonly string[]): Fit {
  const parts = agree.map((part) => comparePart(part, partOf(label, part), partOf(other, part)));
  if (parts.some(({ relation }) => relation === 'differs')) return { answer: 'differs', parts };
  const fits = parts.length > 0 && parts.every(({ relation }) => relation === 'equal');
  return { answer: fits ? 'fits' : 'cannot-tell', parts };
}

function comparePart(part: string, label: string | undefined, other: string | undefined): PartComparison {
  if (label === undefined || other === undefined) return { part, label, other, relation: 'missing' };
  if (upperForComparing(label) === upperForComparing(other)) return { part, label, other, relation: 'equal' };
  const alike = foldLookAlikes(label) === foldLookAlikes(other);
  return { part, label, other, relation: alike ? 'misread' : 'differs' };
}

interface EntryComparison {
  readonly answer: 'agree' | 'misread' | 'differ';
  readonly first: string;
  readonly second: string;
  /** The first character in which they differ, from 0; undefined where they agree. */
  readonly at: number | undefined;
}

/** Compares a label as two people entered it; `misread` where only look-alikes differ, which is no agreement. */
export function compareEntries(firstEntry: string, secondEntry: string): EntryComparison {
  const first = normaliseLabel(firstEntry);
  const second = normaliseLabel(secondEntry);
  const a = [...upperForComparing(first)];
  const b = [...upperForComparing(second)];
  const length = Math.max(a.length, b.length);
  const at = Array.from({ length }, (_, index) => index).find((index) => a[index] !== b[index]);
  if (at === undefined) return { answer: 'agree', first, second, at };
  const alike = foldLookAlikes(first) === foldLookAlikes(second);
  return { answer: alike ? 'misread' : 'differ', first, second, at };
}

/** A run of digits this long is a build or a serial number, not a part of a label. */
const buildDigits = 6;

/** Runs of letters and runs of digits, whole: `65` is not in `650`. */
const tokensOf = (text: string): readonly string[] => upperForComparing(text).match(/\p{L}+|\p{N}+/gu) ?? [];

const stemOf = (fileName: string): string => normaliseLabel(fileName).replace(/\.[^.]*$/, '');

/**
 * Compares a label with a file name where no family says what the parts mean: every token of the label must stand in
 * the name, in order. Even where all do, it proves little: the verdict is at best `unproven`.
 */
export function compareTokens(labelText: string, fileName: string): Fit {
  const label = normaliseLabel(labelText);
  const stem = stemOf(fileName);
  if (label.length > longestText || stem.length > longestText) return { answer: 'cannot-tell', parts: [] };
  const exact = align(tokensOf(label), tokensOf(stem));
  const folded = align(tokensOf(foldLookAlikes(label)), tokensOf(foldLookAlikes(stem)));
  const alikeOnly = !folded.some(open);
  const parts = alikeOnly
    ? exact.map((token) => (open(token) ? { ...token, relation: 'misread' as const } : token))
    : exact;
  if (parts.some(({ relation }) => relation === 'differs')) return { answer: 'differs', parts };
  return { answer: parts.length > 0 && !parts.some(open) ? 'fits' : 'cannot-tell', parts };
}

const open = ({ relation }: PartComparison): boolean => relation !== 'equal';

/**
 * A name that leaves a number out joins the letters around it: `QX 75 C` is `QXC` in a name that serves all sizes. Such
 * a run of letters is taken apart again where the label says how.
 */
function takeApart(name: readonly string[], label: readonly string[]): readonly string[] {
  const letters = label.filter((token) => !isDigits(token));
  return name.flatMap((token) => {
    const at = letters.findIndex((one, index) => one + (letters[index + 1] ?? '') === token);
    return at < 0 || label.includes(token) ? [token] : letters.slice(at, at + 2);
  });
}

/** Pairs the label's tokens with the name's by their longest common subsequence; what lies in a gap may differ. */
function align(label: readonly string[], joined: readonly string[]): readonly PartComparison[] {
  const name = takeApart(joined, label);
  const pairs = longestCommon(label, name);
  let gapStart = 0;
  return label.map((token, index) => {
    const at = pairs[index];
    if (at !== undefined) {
      gapStart = at + 1;
      return { part: token, label: token, other: token, relation: 'equal' };
    }
    const gapEnd = pairs.slice(index + 1).find((next) => next !== undefined) ?? name.length;
    const rival = name.findIndex((other, place) => place >= gapStart && place < gapEnd && sameKind(token, other));
    if (rival < 0) return { part: token, label: token, other: undefined, relation: 'missing' };
    gapStart = rival + 1;
    return { part: token, label: token, other: name[rival], relation: 'differs' };
  });
}

const isDigits = (token: string): boolean => /^\p{N}/u.test(token);

/** Whether one token stands where the other should: two short numbers, or two codes of as many letters. */
const sameKind = (token: string, other: string): boolean =>
  isDigits(token)
    ? isDigits(other) && token.length < buildDigits && other.length < buildDigits
    : !isDigits(other) && token.length === other.length;

/** For each of `a`, its place in `b`, or undefined. */
function longestCommon(a: readonly string[], b: readonly string[]): readonly (number | undefined)[] {
  const width = b.length + 1;
  const lengths = new Uint16Array((a.length + 1) * width);
  const lengthAt = (i: number, j: number): number => lengths[i * width + j] ?? 0;
  for (let i = a.length - 1; i >= 0; i--) {
    for (let j = b.length - 1; j >= 0; j--) {
      lengths[i * width + j] =
        a[i] === b[j] ? lengthAt(i + 1, j + 1) + 1 : Math.max(lengthAt(i + 1, j), lengthAt(i, j + 1));
    }
  }
  const places: (number | undefined)[] = a.map(() => undefined);
  for (let i = 0, j = 0; i < a.length && j < b.length; ) {
    if (a[i] === b[j]) places[i++] = j++;
    else if (lengthAt(i + 1, j) >= lengthAt(i, j + 1)) i++;
    else j++;
  }
  return places;
}
