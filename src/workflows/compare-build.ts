import { verdictOf } from '../core/findings/verdict.ts';
import { readPackageName } from '../core/label/read-package-name.ts';
import type { Family } from '../core/model/family.ts';
import type { CompareReport } from '../core/report/shelf-reports.ts';
import { compareRunning } from '../core/shelf/compare-running.ts';
import { findOnShelf } from '../core/shelf/find-on-shelf.ts';
import { withoutDoubles } from '../core/shelf/order-packages.ts';
import type { Shelf } from '../io/shelf/shelf.ts';

interface Question {
  readonly running: string;
  readonly families: readonly Family[];
}

/** What a panel runs beside what a package's name says it brings. The file is not read: `inspect` says the rest. */
export function compareWithName(fileName: string, { running, families }: Question): CompareReport {
  const { findings, ...comparison } = compareRunning(running, readPackageName(fileName, families), undefined);
  return { command: 'compare', verdict: verdictOf(findings), findings, running, name: fileName, ...comparison };
}

/** What a panel runs beside the newest package on the shelf for its label. */
export async function compareWithShelf(label: string, question: Question, shelf: Shelf): Promise<CompareReport> {
  const { running, families } = question;
  const { packages, damaged } = await shelf.list();
  const answer = findOnShelf({ label, running, families, packages: withoutDoubles(packages), damaged });
  const { findings, newest } = answer;
  const name = newest?.record.name;
  const parts = answer.label.readings[0]?.parts;
  const { packaged, order, steps } =
    name === undefined
      ? { packaged: undefined, order: undefined, steps: [] }
      : compareRunning(running, readPackageName(name, families), parts);
  return { command: 'compare', verdict: verdictOf(findings), findings, running, name, packaged, order, steps };
}
