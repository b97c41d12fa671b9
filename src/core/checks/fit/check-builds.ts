import { compareBuilds } from '../../build/compare-builds.ts';
import { type BuildRules, readBuild } from '../../build/read-build.ts';
import type { OlderBuilds } from '../../findings/catalogue/build.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { Build } from '../../model/build.ts';
import type { Family } from '../../model/family.ts';
import { modes } from '../../model/mode.ts';
import type { Parts } from '../../model/panel-identity.ts';
import { findUpdatePath } from './find-update-path.ts';

export interface BuildQuestion {
  /** What runs on the panel, as its About page writes it. */
  readonly running: string;
  /** The package's build, as its name states it. */
  readonly packaged: string;
  readonly family: Family;
  /** The panel's parts: a bridge may be for some panels only. */
  readonly parts: Parts;
}

/** Whether a package is newer than what runs on the panel, and whether the panel may go there in one step. */
export function checkBuilds({ running, packaged, family, parts }: BuildQuestion): readonly Finding[] {
  const from = readBuild(running, family.build);
  const to = readBuild(packaged, family.build);
  const unread = [
    ...(from.build === undefined ? [unreadable('running', running, from.because, family.build)] : []),
    ...(to.build === undefined ? [unreadable('packaged', packaged, to.because, family.build)] : []),
  ];
  if (from.build === undefined || to.build === undefined) return unread;
  return [...ambiguous(from.build), ...ambiguous(to.build), ...compare(from.build, to.build, family, parts)];
}

const unreadable = (which: 'running' | 'packaged', text: string, because: string, { scheme }: BuildRules): Finding =>
  finding('build/unreadable', text, { which, because, scheme });

function ambiguous(build: Build): readonly Finding[] {
  if (!('readings' in build) || build.readings.length < 2) return [];
  return [finding('build/ambiguous-date', build.text, { readings: build.readings })];
}

function compare(running: Build, packaged: Build, family: Family, parts: Parts): readonly Finding[] {
  const facts = { running: running.text, packaged: packaged.text };
  switch (compareBuilds(packaged, running)) {
    case 'older':
      return [finding('build/older', packaged.text, { ...facts, older: olderIn(family) })];
    case 'same':
      return [finding('build/same', packaged.text, facts)];
    case 'cannot-order':
      return [partsDisagree(running, packaged) ?? finding('build/cannot-order', packaged.text, facts)];
    case 'newer':
      return newer(running, packaged, family, parts);
  }
}

/** What a family says of builds that are older than the one that runs, mode by mode. */
export const olderIn = (family: Family): OlderBuilds['older'] =>
  modes.flatMap((mode) => {
    const takes = family.modes[mode]?.['takes-downgrade'];
    return takes === undefined ? [] : [{ mode, takes }];
  });

function newer(running: Build, packaged: Build, family: Family, parts: Parts): readonly Finding[] {
  const facts = { running: running.text, packaged: packaged.text };
  const path = findUpdatePath(running, packaged, family, parts);
  if (path.steps === undefined) {
    return [finding('build/bridge-unclear', packaged.text, { running: running.text, bridge: path.bridge })];
  }
  if (path.steps.length > 1) return [finding('build/bridge-needed', packaged.text, { ...facts, steps: path.steps })];
  return [finding('build/newer', packaged.text, facts)];
}

/** The version went up and the date down, or the other way round: one of the two is wrong. */
function partsDisagree(running: Build, packaged: Build): Finding | undefined {
  if (running.scheme !== 'version-date' || packaged.scheme !== 'version-date') return undefined;
  const byVersion = compareBuilds({ ...packaged, scheme: 'version' }, { ...running, scheme: 'version' });
  const byDate = compareBuilds({ ...packaged, scheme: 'date' }, { ...running, scheme: 'date' });
  const opposed = (byVersion === 'newer' && byDate === 'older') || (byVersion === 'older' && byDate === 'newer');
  if (!opposed) return undefined;
  return finding('build/parts-disagree', packaged.text, {
    running: running.text,
    packaged: packaged.text,
    byVersion,
    byDate,
  });
}
