import {
  checkHashLists,
  foreseePublishedHashes,
  type PublishedHashes,
} from '../core/checks/archive/check-published-hashes.ts';
import { checkFit, checkMode } from '../core/checks/fit/check-fit.ts';
import { globTest, namesOfFamilies, wantedTree } from '../core/contents/wanted-tree.ts';
import { type Finding, verdictOf, withAccepted, worstOf } from '../core/findings/finding.ts';
import { readLabel, readPackageName } from '../core/label/read-label.ts';
import { customaryRules } from '../core/model/customary-rules.ts';
import type { Family } from '../core/model/family.ts';
import type { Mode } from '../core/model/mode.ts';
import type { PrepareReport, StickAnswer, Tell } from '../core/report/reports.ts';
import type { Archive } from '../io/archive/archive.ts';
import { type ArchiveQuestion, examineArchive, examineDirectory } from './examine-archive.ts';
import type { Job, Ports } from './ports.ts';
import { fanOut } from './stick/fan-out.ts';
import type { StickOptions } from './stick/plan-stick.ts';
import { StickRun } from './stick/stick-run.ts';

export interface PrepareRequest extends ArchiveQuestion, StickOptions {
  readonly mode: Mode;
  readonly label: string;
  readonly targets: readonly string[];
  /** What is known of the package before this run: what the shelf says of it. */
  readonly known?: readonly Finding[];
}

export interface PrepareRunning {
  readonly tell: Tell;
  readonly signal: AbortSignal;
  /** Shows what is known and planned; called once, before anything is written. */
  readonly propose: (job: Job, findings: readonly Finding[], sticks: readonly StickAnswer[]) => Promise<void>;
  /** Asks whether to go on; called after `propose` where nobody agreed in advance and a stick could be written. */
  readonly agree: (sticks: readonly StickAnswer[]) => Promise<boolean>;
}

/**
 * Label, archive and sticks in; checked, planned, agreed, written in one pass, read back, recorded. A stick that fails
 * does not stop the others. Throws ToolError only where the archive itself cannot be opened or read.
 */
export async function prepareSticks(
  request: PrepareRequest,
  ports: Ports,
  running: PrepareRunning,
): Promise<PrepareReport> {
  const archive = await ports.openArchive(request.archivePath);
  const { job, findings } = describeJob(request, archive);
  const runs = request.targets.map((target) => new StickRun(target, job, request, ports, running));
  try {
    const published = await ports.findPublishedHashes(archive.facts.path);
    const before = request.known ?? [];
    const foreseen = [...checkHashLists(published.lists), ...foreseeHashes(request, published, job)];
    const all = [...before, ...findings, ...foreseen.filter(isNewsAfter(before))];
    const known = withAccepted(all, request.accepted);
    await Promise.all(runs.map((run) => run.plan(known)));
    return await carryOut({ request, archive, published, job, known, runs, ports, running });
  } finally {
    await Promise.all(runs.map((run) => run.close()));
    await archive.close();
  }
}

function foreseeHashes(
  { claims, trusted, hashAlways }: PrepareRequest,
  published: PublishedHashes,
  { package: named, label }: Job,
): readonly Finding[] {
  const families = [...named.readings, ...label.readings].map(({ family }) => family);
  const how = { trusts: trusted.length > 0, always: hashAlways === true };
  return foreseePublishedHashes([...(claims ?? []), ...published.claims], families, how);
}

/** What was said before need not be said again. */
const isNewsAfter =
  (before: readonly Finding[]) =>
  ({ code, subject }: Finding): boolean =>
    !before.some((known) => known.code === code && known.subject === subject);

/** Reads label and package name with the families, and says whether they belong together. */
function describeJob(request: PrepareRequest, archive: Archive): { job: Job; findings: readonly Finding[] } {
  const { families, familiesNamed, mode } = request;
  const label = readLabel(request.label, families);
  const named = readPackageName(archive.facts.fileName, families);
  const family = familyOf(label.readings.map((reading) => reading.family));
  const rules = family?.modes[mode] ?? customaryRules(mode);
  const fit = checkFit({ label, package: named, families, familiesNamed, wipes: !rules['keeps-data'] });
  const names = namesOfFamilies(families);
  const use = { mode, wantedAtRoot: globTest(rules['required-at-root']), names };
  const job: Job = {
    mode,
    archive: archive.facts,
    label,
    package: named,
    rules,
    wanted: wantedTree(mode, archive.facts),
    names,
  };
  return { job, findings: [...fit, ...checkMode(mode, family), ...examineDirectory(archive, use, request)] };
}

const familyOf = ([first, ...others]: readonly Family[]): Family | undefined =>
  others.length === 0 ? first : undefined;

interface Preparation {
  readonly request: PrepareRequest;
  readonly archive: Archive;
  readonly published: PublishedHashes;
  readonly job: Job;
  /** What is known before the archive has been read. */
  readonly known: readonly Finding[];
  readonly runs: readonly StickRun[];
  readonly ports: Ports;
  readonly running: PrepareRunning;
}

async function carryOut(preparation: Preparation): Promise<PrepareReport> {
  const { request, archive, published, job, known, runs, ports, running } = preparation;
  const going = runs.filter((run) => run.isGoing);
  const proposed = runs.map((run) => run.answer());
  await running.propose(job, known, proposed);
  const writes = !request.dryRun && going.length > 0 && (request.agreed || (await running.agree(proposed)));
  if (writes) await Promise.all(going.map((run) => run.begin()));
  else if (!request.dryRun) for (const run of going) run.decline();
  const sharing = fanOut(writes ? going.map((run) => run.listener) : []);
  const examined = await examineArchive(archive, request, {
    ports,
    running,
    listeners: [sharing.listener],
    read: (writes || request.dryRun) && verdictOf(known) !== 'not-ready',
    keepsData: job.rules['keeps-data'],
    label: job.label,
    package: job.package,
    published,
  }).finally(() => sharing.drained());
  const learnt = examined.findings.filter(isNewsAfter(known));
  const findings = [...known, ...withAccepted(learnt, request.accepted)];
  for (const run of runs) run.learn(findings);
  if (writes) await Promise.all(going.map((run) => run.finish(examined.reading)));
  await Promise.all(runs.map((run) => run.close()));
  const sticks = runs.map((run) => run.answer());
  return {
    command: 'prepare',
    verdict: worstOf([verdictOf(findings), ...sticks.map(({ verdict }) => verdict)]),
    dryRun: request.dryRun,
    mode: request.mode,
    rules: job.rules,
    archive: examined.answer,
    label: job.label,
    findings,
    sticks,
    interrupted: running.signal.aborted,
  };
}
