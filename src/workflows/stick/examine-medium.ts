import { checkMedium } from '../../core/checks/medium/check-medium.ts';
import { withoutRepairs } from '../../core/checks/medium/without-repairs.ts';
import type { Finding } from '../../core/findings/finding.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { StickFacts } from '../../core/model/stick-facts.ts';
import type { Ports } from '../ports.ts';

/** What the sectors of an image or a raw device say beyond the volume's own facts; a mounted folder hides them. */
export async function examineMedium(
  { kind, target }: StickFacts,
  mode: Mode,
  { auditMedium }: Pick<Ports, 'auditMedium'>,
): Promise<readonly Finding[]> {
  if (kind === 'folder') return [];
  return withoutRepairs(target, checkMedium(await auditMedium(target), { target, mode, besideStickChecks: true }));
}
