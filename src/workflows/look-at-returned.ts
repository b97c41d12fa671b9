import { type SortedEntry, sortReturned } from '../core/contents/sort-contents.ts';
import type { Finding } from '../core/findings/finding.ts';
import { parentOf, toolFolder } from '../core/manifest/stick-names.ts';
import type { Manifest } from '../core/model/manifest.ts';
import type { Mode } from '../core/model/mode.ts';
import type { StickEntry, StickFacts } from '../core/model/stick-facts.ts';
import type { Tell } from '../core/report/reports.ts';
import { canSettleMark, checkClearing, checkIsOurs, checkWorn } from '../core/returned/check-clearing.ts';
import {
  checkFirmwareBack,
  checkListable,
  checkReturned,
  checkUnmade,
  isWorn,
} from '../core/returned/check-returned.ts';
import { type ClearingPlan, planClearing } from '../core/returned/plan-clearing.ts';
import type { MediumFacts } from '../core/volume-format/audit/flaw.ts';
import type { ReturnedPorts } from './ports.ts';
import { openAgain } from './stick/check-same-stick.ts';
import { isReadFault, type StickSurvey, surveyStick } from './stick/survey-stick.ts';
import { type VerifyRequest, verifyStick } from './verify-stick.ts';

export interface ReturnedRequest {
  readonly target: string;
  readonly label: string | undefined;
  /** What the person is about to do with it. */
  readonly mode?: Mode | undefined;
  /** Names and sizes only. */
  readonly quick: boolean;
  readonly sealFrom?: readonly string[] | undefined;
  readonly clear: boolean;
  /** The person agreed in advance, also to a target that is not a removable drive. */
  readonly agreed: boolean;
  /** Folder at the desk for copies of what a panel left. */
  readonly keepLeft: string | undefined;
}

/** A returned stick as it was found; nothing was written. */
export interface ReturnedStick {
  readonly facts: StickFacts;
  readonly entries: readonly StickEntry[];
  readonly manifest: Manifest | undefined;
  readonly sorted: readonly SortedEntry[];
  readonly findings: readonly Finding[];
  readonly filesRead: number;
  readonly bytesRead: number;
  readonly plan: ClearingPlan | undefined;
  /** What forbids clearing. */
  readonly objections: readonly Finding[];
}

type Running = { readonly tell: Tell; readonly signal: AbortSignal };

/** Reads everything, as verify does, and says what every entry is and what clearing would do. */
export async function lookAtReturned(
  request: ReturnedRequest,
  ports: ReturnedPorts,
  running: Running,
): Promise<ReturnedStick> {
  const { facts, survey } = await surveyAt(request.target, ports);
  if (!('entries' in survey)) return unlistable(facts, survey);
  const auditMedium = once(ports.auditMedium);
  const judged = await judgeFirmware(request, survey, { ...ports, auditMedium }, running);
  const medium = await auditMedium(request.target);
  const place = survey.known === undefined ? toolFolder : parentOf(survey.known.at);
  const sorted = sortReturned(survey.entries, survey.known?.manifest, place);
  const visit =
    survey.known === undefined
      ? []
      : checkReturned({ target: request.target, manifest: survey.known.manifest, sorted, stick: facts });
  const findings = [...judged.findings, ...visit];
  return {
    facts,
    entries: survey.entries,
    manifest: survey.known?.manifest,
    sorted,
    findings,
    filesRead: judged.filesRead,
    bytesRead: judged.bytesRead,
    ...planFor(request, { survey, sorted, place, medium, findings }),
  };
}

async function surveyAt(
  target: string,
  { openVolume, digesting }: ReturnedPorts,
): Promise<{ facts: StickFacts; survey: StickSurvey | { readonly problem: string } }> {
  const volume = await openVolume(target, 'read');
  try {
    return { facts: volume.facts, survey: await surveyStick(volume, digesting) };
  } catch (error) {
    if (!isReadFault(error) || error.code !== 'stick/read-failed') throw error;
    return { facts: volume.facts, survey: { problem: `${error.subject}: ${error.message}` } };
  } finally {
    await volume.close();
  }
}

const unlistable = (facts: StickFacts, { problem }: { readonly problem: string }): ReturnedStick => ({
  facts,
  entries: [],
  manifest: undefined,
  sorted: [],
  findings: checkListable(facts.target, problem),
  filesRead: 0,
  bytesRead: 0,
  plan: undefined,
  objections: checkWorn(facts.target, true),
});

interface Seen {
  readonly survey: StickSurvey;
  readonly sorted: readonly SortedEntry[];
  readonly place: string;
  readonly medium: MediumFacts | undefined;
  readonly findings: readonly Finding[];
}

function planFor(
  { target, agreed, keepLeft }: ReturnedRequest,
  { survey, sorted, place, medium, findings }: Seen,
): Pick<ReturnedStick, 'plan' | 'objections'> {
  const { entries, facts, known } = survey;
  const isLastFolder =
    entries.some(({ path }) => path === place) && !entries.some(({ path }) => parentOf(path) === place);
  if (known === undefined && !isLastFolder) {
    return { plan: undefined, objections: checkIsOurs(target, false) };
  }
  const changed = new Set(findings.filter(({ code }) => code === 'verify/changed').map(({ subject }) => subject));
  const plan = planClearing({
    sorted,
    manifestAt: known?.at,
    toolFolder: place,
    changed,
    keepsLeft: keepLeft !== undefined,
    settlesDirtyMark: canSettleMark(facts, medium),
  });
  const question = { stick: facts, entries, toolFolder: place, medium, agreed, isWorn: isWorn(findings) };
  return { plan, objections: checkClearing(question) };
}

/** Two stages ask the same of the sectors. */
function once(audit: ReturnedPorts['auditMedium']): ReturnedPorts['auditMedium'] {
  let answer: Promise<MediumFacts> | undefined;
  return (target, asked) => {
    answer ??= audit(target, asked);
    return answer;
  };
}

interface Judged {
  readonly findings: readonly Finding[];
  readonly filesRead: number;
  readonly bytesRead: number;
}

/**
 * Whether the firmware is still what it was. A stick that comes back was out since it was written, so its content is
 * the medium's.
 */
async function judgeFirmware(
  { target, label, mode, quick, sealFrom }: Omit<VerifyRequest, 'replugged'>,
  survey: StickSurvey,
  ports: ReturnedPorts,
  running: { readonly tell: Tell; readonly signal: AbortSignal },
): Promise<Judged> {
  if (survey.manifest.state !== 'whole') {
    const medium = await ports.auditMedium(target);
    return { findings: checkUnmade(target, survey, medium), filesRead: 0, bytesRead: 0 };
  }
  const verified = await verifyStick(
    { target, label, mode, quick, replugged: true, sealFrom },
    { ...ports, openVolume: openAgain(ports.openVolume, survey.facts) },
    running,
  );
  const { filesRead, bytesRead } = verified;
  const findings = checkFirmwareBack(target, survey.manifest.manifest, verified);
  return { findings, filesRead, bytesRead };
}
