import { type Finding, finding, textsOf, verdictOf } from '../../findings/finding.ts';
import type { FilledRow } from './read-filled-row.ts';

interface FilledListFacts {
  /** The path as given. */
  readonly source: string;
  /** The columns that the headings do not name; undefined where they name all that is needed. */
  readonly unnamed: { readonly missing: readonly string[]; readonly first: readonly string[] } | undefined;
  /** Cells that say nothing that is understood. */
  readonly cells: readonly Finding[];
  /** Rows that are understood and may not be kept, each with what was found about it. */
  readonly refused: readonly { readonly row: FilledRow; readonly findings: readonly Finding[] }[];
  readonly empty: number;
  /** Rows that say what is recorded already, or what was recorded and withdrawn. */
  readonly known: number;
  readonly withdrawn: number;
  readonly withoutTime: number;
  /** The moment that stands for those without a time. */
  readonly at: string;
}

/** What is to be said of a filled-in list beside the records that were made of it. */
export function checkFilledList(facts: FilledListFacts): readonly Finding[] {
  const { source, unnamed, empty, known, withdrawn, withoutTime } = facts;
  const some = (rows: number, make: () => Finding): readonly Finding[] => (rows === 0 ? [] : [make()]);
  return [
    ...(unnamed === undefined ? [] : [finding('record/list-without-headings', source, unnamed)]),
    ...facts.cells,
    ...facts.refused.flatMap((one) => checkRefused(one, source)),
    ...some(empty, () => finding('record/rows-empty', source, { rows: empty })),
    ...some(known, () => finding('record/rows-known', source, { rows: known })),
    ...some(withdrawn, () => finding('record/rows-withdrawn', source, { rows: withdrawn })),
    ...some(withoutTime, () => finding('record/time-assumed', source, { rows: withoutTime, at: facts.at })),
  ];
}

const checkRefused = ({ row, findings }: FilledListFacts['refused'][number], source: string): readonly Finding[] =>
  findings
    .filter((found) => verdictOf([found]) === 'not-ready')
    .map((found) => {
      const { title, seen } = textsOf(found);
      return finding('record/bad-row', source, { place: row.place, title, seen });
    });
