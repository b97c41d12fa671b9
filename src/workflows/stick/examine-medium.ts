import { checkMediumBeside } from '../../core/checks/medium/check-medium.ts';
import type { Finding } from '../../core/findings/finding.ts';
import { recordPaths } from '../../core/manifest/stick-names.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { StickFacts } from '../../core/model/stick-facts.ts';
import type { WaysAsked } from '../../core/volume-format/audit/audit-ways.ts';
import type { Ports } from '../ports.ts';

/** What must be read alike by all on a stick that says of itself what MANIFEST says. */
export const waysOf = ({ files, folders }: Pick<Manifest, 'files' | 'folders'>): WaysAsked => ({
  firmware: [...files.map(({ path }) => path), ...folders],
  record: recordPaths,
});

export interface Examination {
  readonly findings: readonly Finding[];
  /** As `VolumeFacts` has it. */
  readonly doubtful: ReadonlySet<string>;
}

/** What the sectors say beyond the volume's own facts; of a mounted folder's only what leads to the files ASKED for. */
export async function examineMedium(
  { target }: StickFacts,
  mode: Mode,
  { auditMedium }: Pick<Ports, 'auditMedium'>,
  asked: WaysAsked,
): Promise<Examination> {
  const facts = await auditMedium(target, asked);
  return {
    findings: checkMediumBeside(facts, { target, mode }),
    doubtful: new Set(facts.volumes.flatMap(({ doubtful }) => doubtful)),
  };
}
