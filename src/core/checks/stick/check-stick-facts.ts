import { findHalfMoved } from '../../contents/half-moved.ts';
import type { FactsOf } from '../../findings/catalogue.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { isUnfinishedWork } from '../../manifest/stick-names.ts';
import type { ModeRules } from '../../model/family.ts';
import type { LayoutPlan } from '../../model/layout-plan.ts';
import type { Mode } from '../../model/mode.ts';
import type { StickEntry, StickFacts } from '../../model/stick-facts.ts';
import { checkPlan, type PlanFacts } from '../../plan/check-plan.ts';
import { withoutRewritten } from '../medium/check-medium.ts';
import { type ContentsInput, checkContents } from './check-contents.ts';
import { checkCondition, checkFormat, checkMounts, checkSize } from './check-format.ts';

/** A stick that is to be prepared, before anything is planned for it. */
export interface StickQuestion {
  readonly stick: StickFacts;
  readonly entries: readonly StickEntry[];
  /** What the sectors say. */
  readonly medium: readonly Finding[];
  /** They were read, and which names lead where is known. */
  readonly isMediumRead: boolean;
  /** What leads nowhere for sure lies on the way to more than what is written anew. */
  readonly stands: boolean;
  readonly mode: Mode;
  readonly rules: ModeRules;
  /** The person agreed in advance, also to a target that is not a removable drive. */
  readonly agreed: boolean;
}

export const checkStickFacts = ({
  stick,
  entries,
  medium,
  isMediumRead,
  stands,
  mode,
  rules,
  agreed,
}: StickQuestion) => [
  ...checkFormat(stick, mode, rules),
  ...checkSize(stick, mode, rules),
  ...withoutRewritten(medium, stands),
  ...checkCondition(stick, agreed),
  ...checkMounts(stick.target, entries),
  ...(isMediumRead ? [] : checkHalfMoved(stick.target, entries)),
];

function checkHalfMoved(target: string, entries: readonly StickEntry[]): readonly Finding[] {
  const pairs = findHalfMoved(entries);
  return pairs.length === 0 ? [] : [finding('stick/two-names', target, { pairs })];
}

/** The same stick with its plan. */
interface PlannedStick extends Omit<ContentsInput, 'target'>, Omit<PlanFacts, 'lostBytes'> {
  /** What `checkStickFacts` said. */
  readonly about: readonly Finding[];
}

export function checkPlannedStick(facts: PlannedStick): readonly Finding[] {
  const { about, stick, entries, plan } = facts;
  const { target } = stick;
  return [
    ...about,
    ...checkContents({ ...facts, target }),
    ...checkUnfinished(target, entries, plan),
    ...checkPlan({ ...facts, lostBytes: lostBytesIn(about) }),
  ];
}

const lostBytesIn = (findings: readonly Finding[]): number =>
  findings.reduce(
    (sum, { code, facts }) => sum + (code === 'medium/lost-clusters' ? (facts as FactsOf<typeof code>).bytes : 0),
    0,
  );

/** A run that was cut off goes on. */
function checkUnfinished(target: string, entries: readonly StickEntry[], { items }: LayoutPlan): readonly Finding[] {
  if (!entries.some(({ path }) => isUnfinishedWork(path))) return [];
  const count = (action: string): number => items.filter((item) => item.action === action).length;
  return [finding('stick/unfinished', target, { good: count('keep'), rest: count('write') })];
}
