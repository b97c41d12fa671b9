/** What becomes of a kind; each trait is a rule that some check or plan asks for. */
interface Traits {
  /** Whether it would confuse the panel: any panel, one that wants the root to itself, or none. */
  readonly confuses: 'every-panel' | 'strict-root' | 'no-panel';
  /** What clearing a returned stick does with it: a copy at the desk is what `when-kept` waits for. */
  readonly clearing: 'goes' | 'when-kept' | 'stays';
  /** Who made it, as far as it shows. */
  readonly by: 'job' | 'panel' | 'desk' | 'somebody';
}

/**
 * What something on a stick is, in one list for all who ask: before a job (`classify-contents.ts`), where the question
 * is what a panel would make of it, and after it (`sort-contents.ts`), where the question is who left it.
 *
 * - `firmware`: of the job that is to be done, or was: under a path of it, and as far as it can be told, right.
 * - `record`: the tool's folder or its unfinished work.
 * - `damaged`: under a path of this very job, written by an earlier run of it, and no longer what was written.
 * - `same-name`: under a path of the job, and somebody else's.
 * - `other-firmware`: another package, or another mode's layout.
 * - `earlier-preparation`: named by the manifest of another preparation.
 * - `extra`: inside a firmware folder, or the tool's, and not part of it.
 * - `twin`: a `._name` file, which sorts before the real one; after a job only beside a firmware file.
 * - `desk-mark`: what a desktop system makes for itself.
 * - `desk-bin`: what somebody threw away at a desk, or a desk's repair recovered.
 * - `panel-mark`: a panel made it, and nothing is in it.
 * - `panel-log`: logs, dumps and status files of a panel.
 * - `panel-file`: what a panel's apps wrote, or what its repair recovered.
 * - `set-aside`: put away by the tool before the job.
 * - `stayed`: somebody's, personal files as a rule, and there before the job.
 * - `unexplained`: it came after the job, and nothing says what it is.
 */
const kinds = {
  firmware: { confuses: 'no-panel', clearing: 'goes', by: 'job' },
  record: { confuses: 'no-panel', clearing: 'goes', by: 'job' },
  damaged: { confuses: 'no-panel', clearing: 'stays', by: 'job' },
  'same-name': { confuses: 'every-panel', clearing: 'stays', by: 'somebody' },
  'other-firmware': { confuses: 'every-panel', clearing: 'stays', by: 'somebody' },
  'earlier-preparation': { confuses: 'every-panel', clearing: 'stays', by: 'somebody' },
  extra: { confuses: 'every-panel', clearing: 'stays', by: 'somebody' },
  twin: { confuses: 'every-panel', clearing: 'goes', by: 'desk' },
  'desk-mark': { confuses: 'strict-root', clearing: 'goes', by: 'desk' },
  'desk-bin': { confuses: 'strict-root', clearing: 'stays', by: 'desk' },
  'panel-mark': { confuses: 'strict-root', clearing: 'goes', by: 'panel' },
  'panel-log': { confuses: 'strict-root', clearing: 'when-kept', by: 'panel' },
  'panel-file': { confuses: 'strict-root', clearing: 'when-kept', by: 'panel' },
  'set-aside': { confuses: 'strict-root', clearing: 'stays', by: 'somebody' },
  stayed: { confuses: 'strict-root', clearing: 'stays', by: 'somebody' },
  unexplained: { confuses: 'strict-root', clearing: 'stays', by: 'somebody' },
} satisfies Readonly<Record<string, Traits>>;

export type ContentKind = keyof typeof kinds;

/** What a returned stick is sorted into: the others ask what a job that is still to be done would meet. */
export type LeftKind = Exclude<
  ContentKind,
  'damaged' | 'same-name' | 'other-firmware' | 'earlier-preparation' | 'extra' | 'set-aside'
>;

const traitsOf = (kind: ContentKind): Traits => kinds[kind];

export const confusesPanel = (kind: ContentKind, strictRoot: boolean): boolean =>
  traitsOf(kind).confuses === 'every-panel' || (strictRoot && onlyBothers(kind));

/** Whether only a panel that wants the root to itself minds it. */
export const onlyBothers = (kind: ContentKind): boolean => traitsOf(kind).confuses === 'strict-root';

export const isPartOfTheJob = (kind: ContentKind): boolean => traitsOf(kind).by === 'job';
export const isOfPanel = (kind: ContentKind): boolean => traitsOf(kind).by === 'panel';
/** Of a panel or a desktop system: it changes by itself. */
export const isOfSystem = (kind: ContentKind): boolean => isOfPanel(kind) || traitsOf(kind).by === 'desk';
export const inClearing = (kind: ContentKind): Traits['clearing'] => traitsOf(kind).clearing;
