import { checkLabel } from '../checks/fit/check-label.ts';
import { type Finding, finding } from '../findings/finding.ts';
import { findNearMisses, findPackages, indexPackages } from '../label/find-packages.ts';
import { readLabel, readPackageName } from '../label/read-label.ts';
import type { Family } from '../model/family.ts';
import type { LabelReading, PartComparison, Parts } from '../model/panel-identity.ts';
import { quoteWord } from '../text/words.ts';
import { checkChosen } from './check-chosen.ts';
import { checkListing, type DamagedEntry } from './check-newcomer.ts';
import { checkRunningSaid, compareRunning, findSteps, type ShelfStep } from './find-steps.ts';
import { indexShelf, newestFor, type ReadPackage, type ShelfIndex } from './index-shelf.ts';
import type { ShelvedPackage } from './shelf-record.ts';

export interface ShelfQuestion {
  readonly label: string;
  /** What runs on the panel, as its About page writes it. */
  readonly running: string | undefined;
  readonly families: readonly Family[];
  readonly packages: readonly ShelvedPackage[];
  readonly damaged: readonly DamagedEntry[];
}

export interface ShelfNearMiss {
  readonly shelved: ShelvedPackage;
  /** The parts that keep it from fitting. */
  readonly parts: readonly PartComparison[];
}

export interface ShelfAnswer {
  readonly label: LabelReading;
  readonly findings: readonly Finding[];
  /** The package for the next stick: the newest, or the first bridge on the way to it. */
  readonly chosen: ShelvedPackage | undefined;
  readonly newest: ShelvedPackage | undefined;
  /** All sticks, in their order; empty where nothing was chosen. */
  readonly steps: readonly ShelfStep[];
  readonly fitting: readonly ShelvedPackage[];
  /** Packages of the label's family that are for other panels, fewest differences first. */
  readonly nearMisses: readonly ShelfNearMiss[];
}

/**
 * What the shelf has for a label: the newest package for exactly this one, the way to it, and why others do not fit.
 */
export function findOnShelf(question: ShelfQuestion): ShelfAnswer {
  const { families, packages } = question;
  const label = readLabel(question.label, families);
  const shelf = indexShelf(packages, families);
  const { fitting, newest } = newestFor(label, shelf);
  const answer = {
    label,
    chosen: undefined,
    newest: undefined,
    steps: [],
    fitting: fitting.map(({ shelved }) => shelved),
    nearMisses: nearMissesFor(label, shelf),
  };
  const said = [...checkLabel(label, families), ...concerning(label, question)];
  const [panel, ...otherReadings] = label.readings;
  if (panel === undefined || otherReadings.length > 0) return { ...answer, findings: said };
  const [best, ...rivals] = newest;
  if (best === undefined) return { ...answer, findings: [...said, noneFits(label, shelf, panel.family)] };
  if (rivals.length > 0) {
    const names = newest.map(({ shelved }) => shelved.record.name);
    return {
      ...answer,
      findings: [...said, finding('shelf/newest-unclear', label.normalised, { label: label.normalised, names })],
    };
  }
  const way = goTo(best, fitting, question, panel);
  const chosen = way.steps[0]?.shelved;
  return {
    ...answer,
    chosen,
    newest: best.shelved,
    steps: way.steps,
    findings: [
      ...said,
      newestIs(best, fitting.length, label),
      ...way.findings,
      ...(chosen === undefined ? [] : checkChosen(chosen, packages, families)),
    ],
  };
}

function newestIs({ shelved, package: named }: ReadPackage, fitting: number, label: LabelReading): Finding {
  const build = named.readings[0]?.build ?? 'unstated';
  return finding('shelf/newest', shelved.record.name, { build, fitting, label: label.normalised });
}

function noneFits(label: LabelReading, { index, byReading }: ShelfIndex, family: Family): Finding {
  const ofFamily = index.packages.filter(({ readings }) =>
    readings.some((reading) => reading.family.family === family.family),
  ).length;
  const facts = { label: label.normalised, ofFamily, total: byReading.size, family: family.title };
  return finding('shelf/none-fits', label.normalised, facts);
}

function nearMissesFor(label: LabelReading, { index, byReading }: ShelfIndex): readonly ShelfNearMiss[] {
  return findNearMisses(label, index).flatMap(({ package: named, fit }) => {
    const shelved = byReading.get(named)?.shelved;
    return shelved === undefined ? [] : [{ shelved, parts: fit.parts.filter(({ relation }) => relation !== 'equal') }];
  });
}

/**
 * What is wrong on the shelf, as far as it may concern this label: twins and damaged records of packages made for it.
 */
function concerning(label: LabelReading, { packages, damaged, families }: ShelfQuestion): readonly Finding[] {
  const isFor = (names: readonly string[]): boolean => {
    const index = indexPackages(names.map((name) => readPackageName(name, families)));
    return findPackages(label, index).length > 0;
  };
  return checkListing(
    packages.filter(({ record }) => isFor([record.name])),
    damaged.filter(({ files }) => isFor(files)),
  );
}

/** From what runs on the panel to the newest package: newer or not, in one step or over bridges. */
function goTo(
  best: ReadPackage,
  fitting: readonly ReadPackage[],
  { running }: ShelfQuestion,
  { family, parts }: { readonly family: Family; readonly parts: Parts },
): { readonly findings: readonly Finding[]; readonly steps: readonly ShelfStep[] } {
  const direct = [{ build: best.package.readings[0]?.build ?? '', because: undefined, shelved: best.shelved }];
  const { name } = best.shelved.record;
  const packaged = best.package.readings[0]?.build;
  if (packaged === undefined) return { findings: [finding('shelf/build-unstated', name)], steps: direct };
  if (running === undefined) return { findings: checkRunningSaid(best.package, parts), steps: direct };
  const { findings: builds, steps: path } = compareRunning(running, best.package, parts);
  if (path.length < 2) return { findings: builds, steps: direct };
  const others = builds.filter(({ code }) => code !== 'build/bridge-needed');
  const way = findSteps({ running, path, target: best, fitting, family });
  return { findings: [...others, ...way.findings], steps: way.steps };
}

interface CommandWords {
  readonly label: string;
  readonly running: string | undefined;
  /** Words that must be repeated because the person gave them: `--shelf DIR`, `--family FILE`. */
  readonly options: readonly string[];
}

/** The command that makes a stick from what `find` chose; the mode is the person's decision, and in-OS comes first. */
export function prepareCommand({ label, running, options }: CommandWords): string {
  const words = [
    'stickwright',
    'prepare',
    '--from-shelf',
    '--mode',
    'in-os',
    '--label',
    label,
    ...(running === undefined ? [] : ['--running', running]),
    ...options,
  ];
  return `${words.map(quoteWord).join(' ')} --stick STICK`;
}
