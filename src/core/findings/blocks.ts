import type { FindingCode } from './catalogue.ts';
import { type Finding, inOrder, severityOf } from './finding.ts';

/** What a person reads at once: one cause, all that it is true of, and what follows from it. */
export interface Block {
  /** All findings of one code and weight, at least one. */
  readonly alike: readonly Finding[];
  readonly follows: readonly Finding[];
}

interface Rule {
  readonly causes: readonly FindingCode[];
  readonly follow: readonly FindingCode[];
}

/** Said of a file as a whole; none of it means anything where the file is no whole archive. */
const ofTheWholeFile: readonly FindingCode[] = [
  'archive/length-differs',
  'archive/hash-differs',
  'archive/no-published-hash',
  'archive/hash-crc-only',
  'archive/hash-weak',
  'archive/name-of-copy',
  'archive/name-not-zip',
  'update/signature-missing',
  'update/not-signed',
  'fit/package-name-unknown',
  'fit/tokens-missing',
  'fit/fits',
  'shelf/name-unread',
  'plan/required-missing',
];

/**
 * What follows from what, the deepest cause first. Only where the cure of the cause is the cure of what follows, so
 * that nobody misses an advice. Common practice, no source.
 */
const rules: readonly Rule[] = [
  {
    causes: ['archive/name-of-part-download', 'archive/name-of-set-part'],
    follow: ['archive/empty-file', 'archive/placeholder', 'archive/cut-off', 'archive/split-set', ...ofTheWholeFile],
  },
  {
    causes: ['archive/empty-file', 'archive/placeholder', 'archive/not-a-zip', 'archive/split-set'],
    follow: ofTheWholeFile,
  },
  {
    causes: ['archive/cut-off'],
    follow: ['archive/directory-misplaced', 'archive/comment-cut-off', ...ofTheWholeFile],
  },
  {
    causes: ['archive/content-damaged', 'archive/content-unreadable', 'archive/content-ends-early'],
    follow: ['archive/hash-differs', 'update/payload-differs'],
  },
  { causes: ['archive/wrapper'], follow: ['fit/package-name-unknown', 'plan/required-missing'] },
  { causes: ['archive/nested-folder'], follow: ['plan/required-missing'] },
  { causes: ['fit/package-name-unknown'], follow: ['archive/name-of-copy', 'shelf/name-unread'] },
  {
    causes: ['label/possible-misread', 'label/read-otherwise', 'label/letters-of-another-alphabet'],
    follow: ['label/no-family', 'fit/no-family', 'fit/tokens-missing', 'fit/tokens-misread'],
  },
  {
    causes: ['label/letters-of-another-alphabet'],
    follow: ['fit/tokens-differ', 'verify/other-label', 'verify/label-misread', 'verify/label-not-comparable'],
  },
  { causes: ['fit/no-family'], follow: ['label/no-family', 'fit/tokens-missing'] },
  { causes: ['build/older'], follow: ['update/downgrade'] },
  { causes: ['plan/wipes-the-panel'], follow: ['update/wipes-data'] },
  { causes: ['medium/place-shared'], follow: ['medium/way-shared'] },
  { causes: ['stick/several-partitions'], follow: ['stick/several-volumes'] },
  { causes: ['stick/earlier-preparation'], follow: ['stick/other-label-before'] },
  { causes: ['verify/not-prepared', 'verify/manifest-broken'], follow: ['verify/seal-missing'] },
];

const weight = { stop: 0, unproven: 1, caution: 2, note: 3 };

/**
 * The finding of ALL that FOUND follows from by itself; undefined where it is a cause. Nothing hides behind what weighs
 * less than it does.
 */
export function causeOf(found: Finding, all: readonly Finding[]): Finding | undefined {
  for (const { causes, follow } of rules) {
    if (!follow.includes(found.code)) continue;
    const cause = all.find((one) => causes.includes(one.code) && weight[severityOf(one)] <= weight[severityOf(found)]);
    if (cause !== undefined) return causeOf(cause, all) ?? cause;
  }
  return undefined;
}

/** Stops first; what is said of several things is said once, and what follows from another stands under it. */
export function inBlocks(findings: readonly Finding[]): readonly Block[] {
  const blocks = new Map<string, { alike: Finding[]; follows: Finding[] }>();
  const folded: (readonly [Finding, Finding])[] = [];
  for (const found of inOrder(findings)) {
    const cause = causeOf(found, findings);
    if (cause !== undefined) {
      folded.push([found, cause]);
      continue;
    }
    const block = blocks.get(keyOf(found));
    if (block === undefined) blocks.set(keyOf(found), { alike: [found], follows: [] });
    else block.alike.push(found);
  }
  for (const [found, cause] of folded) blocks.get(keyOf(cause))?.follows.push(found);
  return [...blocks.values()];
}

const keyOf = (found: Finding): string => JSON.stringify([found.code, severityOf(found), found.acceptedBecause]);

export interface Said {
  readonly finding: Finding;
  /** Of what else exactly the same is true, by subject. */
  readonly alsoOf: readonly string[];
}

/** The findings of a block, those with the same facts once: their words differ in the subject alone. */
export function saidOnce(alike: readonly Finding[]): readonly Said[] {
  const groups = new Map<string, Finding[]>();
  for (const found of alike) {
    const key = JSON.stringify(found.facts);
    groups.set(key, [...(groups.get(key) ?? []), found]);
  }
  return [...groups.values()].flatMap(([first, ...others]) => {
    if (first === undefined) return [];
    const subjects = new Set(others.map(({ subject }) => subject));
    subjects.delete(first.subject);
    subjects.delete('');
    return [{ finding: first, alsoOf: [...subjects] }];
  });
}
