import type { FactsOf } from '../../findings/catalogue.ts';
import { type Finding, finding, severityOf } from '../../findings/finding.ts';
import { cutClassOf, isInRecord, stagingFolder } from '../../manifest/stick-names.ts';
import { type Mode, modeTraits } from '../../model/mode.ts';
import type { StickFacts } from '../../model/stick-facts.ts';
import type { Flaw, MediumFacts, SharedPlace } from '../../volume-format/audit/flaw.ts';

interface MediumQuestion {
  /** What the findings are about, as the person gave it. */
  readonly target: string;
  readonly mode: Mode;
  /** The checks of `checks/stick` run beside this one and speak of the dirty mark themselves. */
  readonly besideStickChecks?: boolean;
}

/**
 * Findings about the sectors. What `checks/stick` says from the volume's facts (file system, kind of table, cluster
 * size) is not repeated.
 */
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
  const isAtBoot = modeTraits[mode].isReadAtBoot;
  switch (flaw.kind) {
    case 'dirty':
      return besideStickChecks === true ? [] : [finding('stick/dirty', subject)];
    case 'gpt-leftover':
      return [finding(isAtBoot ? 'medium/gpt-leftover' : 'medium/gpt-leftover-for-os', subject, flaw.detail)];
    case 'type-text-missing':
      return [finding(isAtBoot ? 'medium/type-text-missing' : 'medium/type-text-missing-for-os', subject, flaw.detail)];
    case 'extended-partition':
      return [
        finding(isAtBoot ? 'medium/extended-partition' : 'medium/extended-partition-for-os', subject, flaw.detail),
      ];
    case 'partition-type-not-mounted':
      return [
        finding(
          isAtBoot ? 'medium/partition-type-not-mounted-at-boot' : 'medium/partition-type-not-mounted',
          subject,
          flaw.detail,
        ),
      ];
    case 'stale-slots':
      return isAtBoot ? [finding('medium/stale-slots', subject, flaw.detail)] : [];
    default:
      return [plain(flaw, subject)];
  }
}

type PlainFlaw = Exclude<Flaw, { kind: 'dirty' }>;

/** The template type makes a flaw without a text of its own a build error. */
function plain(flaw: PlainFlaw, subject: string): Finding {
  const code: `medium/${PlainFlaw['kind']}` = `medium/${flaw.kind}`;
  return finding(code, subject, ...([flaw.detail] as unknown as []));
}

/** What a write that was cut off can leave in the tables and folders of a FAT volume. */
const leftByACut: ReadonlySet<string> = new Set([
  'medium/fat-copies-differ',
  'medium/cross-linked',
  'medium/chain-loops',
  'medium/chain-broken',
  'medium/chain-short',
  'medium/start-cluster-invalid',
  'medium/folder-damaged',
  'medium/name-duplicate',
]);

/** What is wrong with single names that somebody relies on; its facts hold their paths. */
const aboutNames: ReadonlySet<string> = new Set([
  'medium/way-tables-differ',
  'medium/way-slot-odd',
  'medium/way-marked-free',
  'medium/firmware-hidden',
]);

/**
 * What a preparation need not speak of before it has begun: names that are its own and all written anew, and chains
 * that lead to nothing sound, which a cut leaves. What is still there when all names are given is asked then. STANDS: a
 * folder on the way is the cause, and that stays as it is, with its marks.
 * What lies behind the end of a folder of its own unfinished work goes with that folder, which is made anew.
 */
export const withoutRewritten = (findings: readonly Finding[], stands: boolean): readonly Finding[] =>
  findings.filter(
    (found) => found.code !== 'medium/way-damaged' && (stands || !aboutNames.has(found.code)) && !isOfOurWork(found),
  );

function isOfOurWork({ code, facts }: Finding): boolean {
  if (code !== 'medium/names-after-end') return false;
  const { count, paths } = facts as FactsOf<typeof code>;
  return count === paths.length && paths.every((path) => `${path}/`.startsWith(`/${stagingFolder}/`));
}

/** What the sectors say beyond the volume's own facts, beside the checks of `checks/stick`. */
export const checkMediumBeside = (facts: MediumFacts, question: Omit<MediumQuestion, 'besideStickChecks'>) =>
  withoutRepairs(question.target, checkMedium(facts, { ...question, besideStickChecks: true }));

/**
 * The same before and after a preparation of STICK, which moves and removes: there two names for one place are no
 * repair that can wait, because with the one name somebody else's bytes would go.
 */
export function checkMediumToWrite(facts: MediumFacts, mode: Mode, stick: StickFacts): readonly Finding[] {
  const { target } = stick;
  const findings = checkMedium(facts, { target, mode, besideStickChecks: true });
  const others = findings.filter(({ code }) => code !== 'medium/cross-linked');
  return [...withoutRepairs(target, others), ...checkSharedPlaces(facts, stick)];
}

/**
 * What stops the next preparation of a stick without a manifest that counts, which is where such a stick is sent:
 * whoever starts it shall hear of it before. Damage that hides the root may be the very reason why none is seen.
 */
export const stopsOfNextJob = (facts: MediumFacts, stick: StickFacts, mode: Mode = 'in-os'): readonly Finding[] =>
  withoutRewritten(checkMediumToWrite(facts, mode, stick), false).filter((found) => severityOf(found) === 'stop');

function checkSharedPlaces({ volumes }: MediumFacts, { target, kind }: StickFacts): readonly Finding[] {
  return volumes
    .flatMap(({ flaws }) => flaws)
    .flatMap((flaw) => {
      if (flaw.kind !== 'cross-linked') return [];
      const { count, pairs } = flaw.detail;
      const left = kind === 'folder' ? pairs : pairs.filter((pair) => !isMended(pair));
      const unnamed = count - pairs.length;
      if (left.length + unnamed === 0) return [];
      const whose = unnamed === 0 && left.every(isOneFile) ? 'one-file' : 'several-files';
      return [finding('medium/place-shared', target, { count: left.length + unnamed, pairs: left, whose })];
    });
}

/** Where no driver stands between, a name that a cut left is taken away and the place stays (`find-cut-names.ts`). */
const isMended = ({ first, second, alike }: SharedPlace): boolean => {
  const classes = [cutClassOf(first.slice(1)), cutClassOf(second.slice(1))];
  return classes.includes('work') || (alike && classes.includes('copy'));
};

/** Moved when it was pulled, or written by a preparation and written anew by the next. */
const isOneFile = ({ first, second, alike }: SharedPlace): boolean =>
  alike || [first, second].every((path) => cutClassOf(path.slice(1)) === 'work' || isInRecord(path.slice(1)));

/**
 * Beside a preparation, which writes and reads back every file that counts, damage of this kind is a reason to repair
 * the volume and none to stop: the same command must be able to finish a stick that was pulled. All of it in one
 * caution.
 */
function withoutRepairs(target: string, findings: readonly Finding[]): readonly Finding[] {
  const repairs = findings.filter(({ code }) => leftByACut.has(code));
  if (repairs.length === 0) return findings;
  const codes = [...new Set(repairs.map(({ code }) => code))];
  return [...findings.filter((found) => !repairs.includes(found)), finding('stick/needs-repair', target, { codes })];
}
