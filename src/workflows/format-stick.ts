import { checkMedium } from '../core/checks/medium/check-medium.ts';
import { checkProof, type ProofFacts } from '../core/checks/medium/check-proof.ts';
import { checkFormat, checkSize } from '../core/checks/stick/check-format.ts';
import { type Finding, verdictOf } from '../core/findings/finding.ts';
import type { ModeRules } from '../core/model/family.ts';
import type { Mode } from '../core/model/mode.ts';
import type { StickFacts } from '../core/model/stick-facts.ts';
import type {
  FormatPlan,
  FormatReport,
  FormatWish,
  Losses,
  MediumPlace,
  ProveReport,
} from '../core/report/medium-reports.ts';
import type { Tell } from '../core/report/reports.ts';
import type { FormatPorts, ProvePorts, ProveRunning } from './ports.ts';

export interface FormatRequest {
  readonly target: string;
  readonly mode: Mode;
  readonly rules: ModeRules;
  readonly wish: FormatWish;
  /** Size of a new image file. */
  readonly imageBytes: number | undefined;
}

/** All that is known before the person is asked. */
export type FormatProposal = Pick<FormatReport, 'medium' | 'losses' | 'plan' | 'findings' | 'mode'>;

interface FormatRunning {
  readonly tell: Tell;
  readonly signal: AbortSignal;
  /** Shows what would be lost and made; called once, before anything is written. */
  readonly propose: (proposal: FormatProposal) => Promise<void>;
  /** Whether the person agrees to lose it; not asked where a finding stops it. */
  readonly agree: (proposal: FormatProposal) => Promise<boolean>;
}

/**
 * Looks at the medium, shows what would be lost, asks, erases, formats, reads back, and judges the result. Throws
 * ToolError.
 */
export async function formatStick(
  { target, mode, rules, wish, imageBytes }: FormatRequest,
  ports: FormatPorts,
  running: FormatRunning,
): Promise<FormatReport> {
  const found = await ports.findMedium(target, { mayBeNew: imageBytes !== undefined });
  const medium: MediumPlace = found.kind === 'new-image' ? { ...found, bytes: imageBytes ?? 0 } : found;
  const plan = ports.planFormat(medium, wish);
  const losses = await ports.listLosses(medium);
  const findings = judgePlan(medium, plan, mode, rules);
  const proposal: FormatProposal = { medium, losses, plan, findings, mode };
  await running.propose(proposal);
  const unmade = { ...proposal, command: 'format', made: undefined, readBack: undefined } as const;
  const verdict = verdictOf(findings);
  if (verdict === 'not-ready') return { ...unmade, verdict, state: 'refused' };
  if (!(await running.agree(proposal))) return { ...unmade, verdict: 'not-ready', state: 'declined' };
  const formatted = await orInterrupted(
    ports.formatMedium(medium, wish, { signal: running.signal, heard: tellStages(target, running.tell) }),
    running.signal,
  );
  if (formatted === undefined) return { ...unmade, verdict: 'not-ready', state: 'unfinished' };
  const { made, readBack } = formatted;
  const after = [...judgePlan(medium, plan, mode, rules), ...checkMedium(made, { target, mode })];
  return { ...unmade, state: 'formatted', findings: after, verdict: verdictOf(after), made, readBack };
}

/** Undefined where the person stopped it in the middle: what was on the medium is gone then, and that must be said. */
async function orInterrupted<Answer>(work: Promise<Answer>, signal: AbortSignal): Promise<Answer | undefined> {
  try {
    return await work;
  } catch (error) {
    if (error === signal.reason) return undefined;
    throw error;
  }
}

/** The same rules as for a stick that is there, applied to the one that is to be. */
function judgePlan(medium: MediumPlace, plan: FormatPlan, mode: Mode, rules: ModeRules): readonly Finding[] {
  const stick = stickFactsOf(medium, plan);
  return [...checkFormat(stick, mode, rules), ...checkSize(stick, mode, rules)];
}

const stickFactsOf = ({ target, bytes, kind, drive }: MediumPlace, plan: FormatPlan): StickFacts => ({
  target,
  kind: kind === 'device' ? 'device' : 'image',
  fileSystem: plan.fileSystem,
  fileSystemFrom: 'boot-sector',
  partitionTable: 'mbr',
  partitions: [],
  otherVolumes: { from: 'sectors', volumes: [] },
  mediumBytes: bytes,
  volumeBytes: bytes,
  freeBytes: bytes,
  clusterBytes: plan.clusterBytes,
  sectorBytes: 512,
  rootSlotsFree: undefined,
  volumeLabel: plan.volumeLabel,
  volumeSerial: undefined,
  readOnly: false,
  dirty: false,
  drive,
});

interface ProveRequest {
  readonly target: string;
  readonly how: ProofFacts['how'];
}

interface ProveWork {
  readonly tell: Tell;
  readonly signal: AbortSignal;
  /** Shows what would be lost; not called for the free part of a volume. */
  readonly propose: (medium: MediumPlace, losses: Losses) => Promise<void>;
  readonly agree: (medium: MediumPlace) => Promise<boolean>;
}

/** Says whether a medium holds what it says, by writing and reading back. Throws ToolError. */
export async function proveStick(
  { target, how }: ProveRequest,
  ports: ProvePorts,
  work: ProveWork,
): Promise<ProveReport> {
  const running = { signal: work.signal, heard: tellStages(target, work.tell) };
  if (how === 'free-space') {
    const proof = await proveFree(target, ports, running);
    return { ...judge(target, proof), medium: undefined, losses: undefined };
  }
  const medium = await ports.findMedium(target, { mayBeNew: false });
  const losses = await ports.listLosses(medium);
  await work.propose(medium, losses);
  if (!(await work.agree(medium))) {
    return {
      command: 'prove',
      verdict: 'unproven',
      state: 'declined',
      findings: [],
      target,
      medium,
      losses,
      proof: undefined,
    };
  }
  return { ...judge(target, await ports.proveMedium(medium, how, running)), medium, losses };
}

async function proveFree(target: string, ports: ProvePorts, running: ProveRunning): Promise<ProofFacts> {
  const volume = await ports.openVolume(target, 'write');
  try {
    return await ports.proveFreeSpace(volume, running);
  } finally {
    await volume.close();
  }
}

function judge(target: string, proof: ProofFacts) {
  const findings = checkProof(target, proof);
  return { command: 'prove', verdict: verdictOf(findings), state: 'proved', findings, target, proof } as const;
}

/** Passes on how far a piece of work with stages has come; a stage begins with its first news. */
function tellStages(target: string, tell: Tell) {
  let told: string | undefined;
  return (stage: 'writing' | 'reading-back', doneBytes: number, totalBytes: number): void => {
    if (told !== stage) tell({ kind: 'stage', target, stage, totalBytes });
    told = stage;
    tell({ kind: 'progress', target, stage, doneBytes, totalBytes });
  };
}
