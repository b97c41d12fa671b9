import { type Finding, verdictOf, withAccepted, worstOf } from '../core/findings/finding.ts';
import { decisionsOf } from '../core/manifest/build-manifest.ts';
import type { Family } from '../core/model/family.ts';
import type { Round } from '../core/model/round.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import { failureOf } from '../core/model/tool-error.ts';
import type { PreparedStick, RoundPrepareReport } from '../core/report/round-reports.ts';
import { checkPreparation } from '../core/rounds/prepare/check-approvals.ts';
import { listPreparations, type Preparation } from '../core/rounds/prepare/list-preparations.ts';
import {
  checkKeptPlan,
  type RoundRecordWithoutDigest,
  roundRecordWithDigest,
} from '../core/rounds/records/own-digests.ts';
import { relateBuilds } from '../core/rounds/records/read-visit.ts';
import { checkChosen, claimOf, withoutAskedAgain } from '../core/shelf/check-chosen.ts';
import type { ShelvedPackage } from '../core/shelf/shelf-record.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import type { Shelf } from '../io/shelf/shelf.ts';
import type { Ports } from './ports.ts';
import { type PrepareRequest, type PrepareRunning, prepareSticks } from './prepare-sticks.ts';
import { surveyStick } from './stick/survey-stick.ts';

export interface RoundPrepareRequest
  extends Pick<
    PrepareRequest,
    'families' | 'familiesNamed' | 'trusted' | 'leftovers' | 'dryRun' | 'agreed' | 'accepted'
  > {
  readonly round: Round;
  /** Letters; empty means all. */
  readonly loads: readonly string[];
  /** Who is at this desk. */
  readonly who: string;
}

export interface RoundPreparePorts extends Ports {
  readonly folder: RoundFolder;
  readonly shelf: Shelf;
  /** A UUID. */
  readonly newId: () => string;
}

export interface RoundPrepareRunning extends PrepareRunning {
  /**
   * The stick for this preparation: the next that was named, or one that is plugged in. Undefined: there is none, stop
   * here.
   */
  readonly nextStick: (preparation: Preparation, left: number) => Promise<string | undefined>;
  /** A stick that somebody may count on: asks whether it may be written all the same. */
  readonly mayReuse: (findings: readonly Finding[]) => Promise<boolean>;
  /** One stick is through. True: the same load once more, with another stick. */
  readonly prepared: (stick: PreparedStick) => Promise<boolean>;
}

interface Desk {
  readonly request: RoundPrepareRequest;
  readonly ports: RoundPreparePorts;
  readonly running: RoundPrepareRunning;
  readonly packages: readonly ShelvedPackage[];
}

/**
 * Stick after stick of a kept plan, each with every check of a preparation of its own; what is ready is recorded at
 * once, so that the same command goes on after any end. One stick that fails does not stop the rest.
 */
export async function prepareRound(
  request: RoundPrepareRequest,
  ports: RoundPreparePorts,
  running: RoundPrepareRunning,
): Promise<RoundPrepareReport> {
  const { todo, findings } = listPreparations(request.round, await recordsOf(ports), relateBuilds(request.families));
  const isMeant = ({ id }: { readonly id: string }): boolean =>
    request.loads.length === 0 || request.loads.includes(id);
  const wanted = todo.filter(({ load }) => isMeant(load));
  const { packages } = await ports.shelf.list();
  const desk: Desk = { request, ports, running, packages };
  const sticks: PreparedStick[] = [];
  const left: Preparation[] = [];
  let isOver = false;
  for (const [at, preparation] of wanted.entries()) {
    let isMade = false;
    for (let again = true; again && !isOver; ) {
      const target = running.signal.aborted ? undefined : await running.nextStick(preparation, wanted.length - at);
      isOver = target === undefined || running.signal.aborted;
      if (target === undefined || isOver) break;
      const stick = await prepareOne(preparation, target, desk);
      sticks.push(stick);
      isMade = stick.code !== undefined;
      again = await running.prepared(stick);
    }
    if (!isMade) left.push(preparation);
  }
  const meant = new Set(request.round.loads.filter(isMeant).map(({ package: { name } }) => name));
  return {
    command: 'round prepare',
    verdict: worstOf(sticks.map(({ verdict }) => verdict)),
    findings: findings.filter(({ subject }) => meant.has(subject)),
    place: ports.folder.place,
    dryRun: request.dryRun,
    sticks,
    left,
    ofOtherLoads: todo.length - wanted.length,
    interrupted: running.signal.aborted,
  };
}

const recordsOf = async ({ folder }: RoundPreparePorts): Promise<readonly RoundRecord[]> =>
  (await folder.records()).records;

async function prepareOne(preparation: Preparation, target: string, desk: Desk): Promise<PreparedStick> {
  const { request, ports, running, packages } = desk;
  const { load } = preparation;
  const base = { preparation, target, code: undefined, report: undefined, error: undefined };
  const records = await recordsOf(ports);
  const shelved = packages.find(
    ({ record }) => record.sha256 === load.package.sha256 && record.name === load.package.name,
  );
  const checked = checkPreparation(load, request.round, records, {
    isOnShelf: shelved !== undefined,
    stick: { target, code: await codeOn(target, ports) },
    relate: relateBuilds(request.families),
  });
  const found = withAccepted(checked.findings, request.accepted);
  const stopped = verdictOf(found) === 'not-ready';
  const onlyReuse = found.every((one) => one.code === 'round/stick-still-out');
  if (shelved === undefined || (stopped && !(onlyReuse && (await running.mayReuse(found))))) {
    return { ...base, verdict: 'not-ready', findings: found };
  }
  try {
    const report = await prepareSticks(
      requestFor(preparation, target, shelved, checked.approvals, desk),
      ports,
      running,
    );
    return await recordPrepared({ ...base, findings: found, verdict: report.verdict, report }, request.who, ports);
  } catch (error) {
    return { ...base, findings: found, verdict: 'not-ready', error: failureOf(error) };
  }
}

/** The code that a stick's manifest gives; a stick that cannot be read has none, and its preparation says why. */
async function codeOn(target: string, { openVolume, digesting }: Ports): Promise<string | undefined> {
  try {
    const volume = await openVolume(target, 'read');
    try {
      return (await surveyStick(volume, digesting)).known?.manifest.stick;
    } finally {
      await volume.close();
    }
  } catch (error) {
    failureOf(error);
    return undefined;
  }
}

function requestFor(
  { load }: Preparation,
  target: string,
  shelved: ShelvedPackage,
  approvals: string,
  { request, packages, ports }: Desk,
): PrepareRequest {
  const { families, round, accepted } = request;
  const known = withoutAskedAgain(checkChosen(shelved, packages, families as readonly Family[]));
  // The record on the shelf is of today: what was open when the round was planned may be settled since.
  const claims = [claimOf(shelved.record, `the plan of the round (${round.plannedAt.slice(0, 10)})`)];
  // Such a load is only planned where the wipe of each of its rooms is approved.
  const wipe: readonly [string, string][] = load.wipes
    ? [['update/wipe-breaks-promise', `the wipe is approved: ${approvals}`]]
    : [];
  return {
    ...request,
    archivePath: shelved.path,
    claims,
    known: [...checkKeptPlan([load], ports.folder.place), ...known],
    mode: load.mode,
    label: load.label,
    targets: [target],
    accepted: new Map([...wipe, ...accepted]),
  };
}

interface RecordPorts extends Pick<Ports, 'now' | 'digesting'> {
  readonly folder: RoundFolder;
  /** A UUID. */
  readonly newId: () => string;
}

/** Records a stick that is as it should be, and gives its code; any other comes back as it is. */
async function recordPrepared(stick: PreparedStick, who: string, ports: RecordPorts): Promise<PreparedStick> {
  const [answer] = stick.report?.sticks ?? [];
  const isDone = answer?.state === 'written' || answer?.state === 'unchanged';
  const code = answer?.manifest?.stick;
  const told = { ...stick, error: answer?.error };
  if (!isDone || code === undefined || answer?.verdict === 'not-ready') return told;
  const { load } = stick.preparation;
  const at = ports.now();
  const record: RoundRecordWithoutDigest = {
    schema: 'stickwright/round-record/2',
    kind: 'prepared',
    id: ports.newId(),
    at,
    notedAt: at,
    who,
    stick: code,
    package: { name: load.package.name, sha256: load.package.sha256, build: load.package.build },
    mode: load.mode,
    load: load.id,
    target: stick.target,
    // As its manifest has it; what every verify asks by itself is asked before the walk.
    unproven: [...new Set(decisionsOf([...(stick.report?.findings ?? []), ...answer.findings]).unproven.map(codeOf))],
  };
  await ports.folder.append([roundRecordWithDigest(record, ports.digesting.sha256)]);
  return { ...told, code };
}

const codeOf = ({ code }: { readonly code: string }): string => code;
