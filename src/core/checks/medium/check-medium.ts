import { type Finding, finding } from '../../findings/finding.ts';
import type { Mode } from '../../model/mode.ts';
import type { Flaw } from '../../volume-format/audit/flaw.ts';
import type { MediumFacts } from '../../volume-format/audit/medium-facts.ts';

export interface MediumQuestion {
  /** What the findings are about, as the person gave it. */
  readonly target: string;
  readonly mode: Mode;
  /** The checks of `checks/stick` run beside this one and speak of the dirty mark themselves. */
  readonly besideStickChecks?: boolean;
}

/** Findings about the sectors. What `checks/stick` says from the volume's facts (file system, kind of table, cluster size) is not repeated. */
export function checkMedium(facts: MediumFacts, question: MediumQuestion): readonly Finding[] {
  const several = facts.volumes.length > 1;
  return [
    ...facts.flaws.flatMap((flaw) => toFindings(flaw, question, question.target)),
    ...facts.volumes.flatMap(({ flaws, partition }) =>
      flaws.flatMap((flaw) =>
        toFindings(flaw, question, several ? `${question.target}, partition ${partition}` : question.target),
      ),
    ),
  ];
}

function toFindings(flaw: Flaw, { mode, besideStickChecks }: MediumQuestion, subject: string): readonly Finding[] {
  const isRecovery = mode === 'recovery';
  switch (flaw.kind) {
    case 'dirty':
      return besideStickChecks === true ? [] : [finding('stick/dirty', subject)];
    case 'gpt-leftover':
      return [finding(isRecovery ? 'medium/gpt-leftover' : 'medium/gpt-leftover-for-os', subject, flaw.detail)];
    case 'type-text-missing':
      return [
        finding(isRecovery ? 'medium/type-text-missing' : 'medium/type-text-missing-for-os', subject, flaw.detail),
      ];
    case 'extended-partition':
      return [
        finding(isRecovery ? 'medium/extended-partition' : 'medium/extended-partition-for-os', subject, flaw.detail),
      ];
    case 'partition-type-not-mounted':
      return [
        finding(
          isRecovery ? 'medium/partition-type-not-mounted-at-boot' : 'medium/partition-type-not-mounted',
          subject,
          flaw.detail,
        ),
      ];
    case 'stale-slots':
      return isRecovery ? [finding('medium/stale-slots', subject, flaw.detail)] : [];
    default:
      return [plain(flaw, subject)];
  }
}

type PlainFlaw = Exclude<Flaw, { kind: 'dirty' }>;

/** The template type makes a flaw without a text of its own a build error. */
function plain(flaw: PlainFlaw, subject: string): Finding {
  const code: `medium/${PlainFlaw['kind']}` = `medium/${flaw.kind}`;
  return { code, subject, facts: flaw.detail };
}
