import { checkProof } from '../core/checks/medium/check-proof.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { Tell } from '../core/report/events.ts';
import type { Losses, MediumPlace, ProveReport } from '../core/report/medium-reports.ts';
import type { ProofFacts } from '../core/report/proof-facts.ts';
import type { ProvePorts, ProveRunning } from './ports.ts';
import { tellStages } from './tell-stages.ts';

export interface ProveRequest {
  readonly target: string;
  readonly how: ProofFacts['how'];
}

export interface ProveWork {
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
