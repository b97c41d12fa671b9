import {
  checkKept,
  checkReadBack,
  checkReadBackKind,
  checkSpeed,
  type DifferingContent,
} from '../../core/checks/stick/check-written.ts';
import { checkSettled } from '../../core/checks/verify/check-record.ts';
import { type Finding, type Verdict, verdictOf, withAccepted } from '../../core/findings/finding.ts';
import { toolFolder } from '../../core/manifest/stick-names.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { StickFacts } from '../../core/model/stick-facts.ts';
import { type ToolError, unforeseen } from '../../core/model/tool-error.ts';
import { type StickAnswer, type StickState, stageOfJob, type Tell } from '../../core/report/reports.ts';
import type { ArchiveReading, PassListener } from '../../io/archive/archive.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';
import type { Job, Ports } from '../ports.ts';
import { checkSameStick } from './check-same-stick.ts';
import { planStick, type StickOptions, type StickPlan } from './plan-stick.ts';
import { giveFinalNames, makeStickRecord, publishStickRecord, writeStickRecord } from './publish.ts';
import { type ExpectedContent, expectedContent, findHarmed, readBack } from './read-back.ts';
import { itemsOf, StickWriter } from './stick-writer.ts';
import { examineAgain } from './survey-stick.ts';

/**
 * One stick on its way through a preparation. Whatever goes wrong ends this stick and is kept in its answer; the others
 * go on, which is why it is caught here and not in cli. A bug is kept as what it is, with its stack for cli to show.
 */
export class StickRun {
  readonly #target: string;
  readonly #job: Job;
  readonly #options: StickOptions;
  readonly #ports: Ports;
  readonly #running: { readonly tell: Tell; readonly signal: AbortSignal };
  #volume: Volume | undefined;
  #facts: StickFacts | undefined;
  #planned: StickPlan | undefined;
  #writer: StickWriter | undefined;
  /** About archive and label, for all sticks. */
  #common: readonly Finding[] = [];
  #findings: readonly Finding[] = [];
  #state: StickState = 'failed';
  #error: ToolError | undefined;
  #manifest: Manifest | undefined;

  constructor(
    target: string,
    job: Job,
    options: StickOptions,
    ports: Ports,
    running: { tell: Tell; signal: AbortSignal },
  ) {
    this.#target = target;
    this.#job = job;
    this.#options = options;
    this.#ports = ports;
    this.#running = running;
  }

  /** Opens the stick, looks at it and plans; `common` are the findings about archive and label. */
  async plan(common: readonly Finding[]): Promise<void> {
    this.#common = common;
    await this.#guarded(async () => {
      const volume = await this.#ports.openVolume(this.#target, this.#options.dryRun ? 'read' : 'write');
      this.#volume = volume;
      this.#facts = volume.facts;
      const planned = await planStick(volume, this.#job, this.#options, common, this.#ports, this.#running);
      this.#planned = planned;
      this.#findings = withAccepted(planned.findings, this.#options.accepted);
      this.#running.tell({ kind: 'plan', target: this.#target, plan: planned.plan });
      const stopped = verdictOf([...common, ...this.#findings]) === 'not-ready';
      this.#state = stopped ? 'refused' : 'planned';
    });
  }

  get isGoing(): boolean {
    return this.#state === 'planned';
  }

  decline(): void {
    if (this.isGoing) this.#state = 'declined';
  }

  /** What the pass added to the findings that all sticks share. */
  learn(common: readonly Finding[]): void {
    this.#common = common;
  }

  /** Hears the pass; after a fault of this stick it hears nothing more. */
  get listener(): PassListener {
    const writer = this.#writer;
    if (writer === undefined) return {};
    const { raw, entryStart, entryData, entryEnd } = writer.listener;
    const heard =
      <Args extends unknown[]>(hear: (...args: Args) => void | Promise<void>) =>
      (...args: Args): Promise<void> | undefined =>
        this.#error === undefined ? this.#guarded(async () => hear(...args)) : undefined;
    return {
      ...(raw && { raw: heard(raw) }),
      ...(entryStart && { entryStart: heard(entryStart) }),
      ...(entryData && { entryData: heard(entryData) }),
      ...(entryEnd && { entryEnd: heard(entryEnd) }),
    };
  }

  /** From here on the stick says not ready until `finish` is through. */
  async begin(): Promise<void> {
    const { volume, planned } = this.#opened();
    await this.#guarded(() => checkSameStick(this.#target, planned.survey, this.#ports.openVolume));
    if (planned.plan.nothingToDo || this.#error !== undefined) return;
    const present = planned.survey.entries.map(({ path }) => path);
    this.#state = 'unfinished';
    this.#writer = new StickWriter(volume, planned.plan, present, this.#running.tell);
    await this.#guarded(async () => this.#writer?.begin());
  }

  /** Reads back, gives the final names, writes the record. `reading` is undefined where the archive has not passed. */
  async finish(reading: ArchiveReading | undefined): Promise<void> {
    const stopped = reading === undefined || verdictOf(this.#common) === 'not-ready';
    if (stopped || this.#error !== undefined) return this.#letGo();
    await this.#guarded(async () => {
      const { planned } = this.#opened();
      const expected = expectedContent(this.#job, reading);
      if (planned.plan.nothingToDo) await this.#confirmKept(planned, expected);
      else await this.#complete(reading, expected);
    });
    if (this.#error === undefined) this.#tellEnd();
  }

  #tellEnd(): void {
    this.#running.tell({ kind: 'end', target: this.#target, state: this.#state });
  }

  answer(): StickAnswer {
    return {
      target: this.#target,
      state: this.#state,
      verdict: this.#verdict(),
      findings: this.#findings,
      facts: this.#planned?.survey.facts ?? this.#facts,
      plan: this.#planned?.plan,
      manifest: this.#manifest,
      error: this.#error,
    };
  }

  /** Before the last answer is asked for: what closing meets belongs to it. */
  async close(): Promise<void> {
    const volume = this.#volume;
    this.#volume = undefined;
    await this.#guarded(async () => this.#writer?.letGo());
    await this.#guarded(async () => volume?.close());
  }

  #verdict(): Verdict {
    const done = this.#state === 'written' || this.#state === 'unchanged' || this.#state === 'planned';
    return done ? verdictOf([...this.#common, ...this.#findings]) : 'not-ready';
  }

  async #complete(reading: ArchiveReading, expected: ExpectedContent): Promise<void> {
    const { volume, planned } = this.#opened();
    await this.#writer?.end();
    const back = await readBack(volume, planned.plan, expected, this.#ports.digesting, this.#running);
    const speed = this.#writer === undefined ? [] : checkSpeed(this.#target, this.#writer.written);
    const isRight = this.#isRight(back.differing);
    this.#note([...speed, ...this.#saysOfReadBack(back.kind)]);
    if (!isRight) return;
    const { manifest, seal } = makeStickRecord(
      {
        job: this.#job,
        planned,
        archiveSha256: reading.digests.sha256,
        files: back.files,
        findings: [...this.#common, ...this.#findings],
        readBack: this.#options.asImage ? 'cache' : back.kind,
      },
      this.#ports,
    );
    this.#manifest = manifest;
    this.#running.tell(stageOfJob(this.#target, 'finishing', planned.plan));
    await writeStickRecord(volume, manifest, seal, this.#ports.digesting);
    this.#running.signal.throwIfAborted();
    await giveFinalNames(volume);
    await this.#writer?.withdrawRest();
    const harmed = () => findHarmed(volume, planned, expected, this.#ports.digesting);
    if (!(await publishStickRecord(volume, async () => this.#isRight(await harmed())))) return;
    await this.#settle(volume);
    this.#running.tell({ kind: 'item', target: this.#target, item: { action: 'record', path: toolFolder } });
    this.#state = 'written';
    this.#findings = await examineAgain(planned.survey.facts, manifest, this.#findings, this.#ports);
  }

  /** Nothing was written: what was read while planning must be what the archive holds. */
  async #confirmKept({ plan, proven, survey, provenFrom }: StickPlan, expected: ExpectedContent): Promise<void> {
    const differing = itemsOf(plan, 'keep')
      .map(({ path }) => path)
      .filter((path) => proven.get(path)?.sha256 !== expected.get(path));
    this.#note(checkKept(this.#target, differing));
    if (provenFrom !== undefined) this.#note(this.#saysOfReadBack(provenFrom));
    this.#manifest = survey.manifest.state === 'whole' ? survey.manifest.manifest : undefined;
    await this.#settle(this.#opened().volume);
    this.#state = differing.length > 0 ? 'refused' : 'unchanged';
    if (this.#manifest !== undefined)
      this.#findings = await examineAgain(survey.facts, this.#manifest, this.#findings, this.#ports);
  }

  /** What was kept may have been written by anybody, a moment ago. */
  async #settle(volume: Volume): Promise<void> {
    this.#note(checkSettled(this.#target, await volume.settle()));
  }

  #isRight(differing: readonly DifferingContent[]): boolean {
    this.#note(checkReadBack(differing));
    return differing.length === 0;
  }

  #note(found: readonly Finding[]): void {
    this.#findings = [...this.#findings, ...withAccepted(found, this.#options.accepted)];
  }

  #saysOfReadBack(kind: ReadBackKind): readonly Finding[] {
    return checkReadBackKind(this.#target, kind, this.#options.asImage === true);
  }

  async #letGo(): Promise<void> {
    if (this.isGoing) this.#state = 'refused';
    await this.#guarded(async () => this.#writer?.letGo());
  }

  #opened(): { volume: Volume; planned: StickPlan } {
    if (this.#volume === undefined || this.#planned === undefined) throw new Error('the stick was never opened');
    return { volume: this.#volume, planned: this.#planned };
  }

  async #guarded(work: () => Promise<void> | void): Promise<void> {
    try {
      await work();
    } catch (error) {
      if (this.#running.signal.aborted && error === this.#running.signal.reason) return;
      this.#error ??= unforeseen(error, this.#target);
      if (this.#state === 'written') this.#state = 'unfinished';
      if (this.#state !== 'unfinished') this.#state = 'failed';
      this.#tellEnd();
    }
  }
}
