import type { WrittenAmount } from '../../core/checks/stick/check-written.ts';
import { parentOf, stagingFolder } from '../../core/manifest/stick-names.ts';
import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { LayoutPlan, PlanItem } from '../../core/model/layout-plan.ts';
import { stageOfJob, type Tell } from '../../core/report/reports.ts';
import type { PassListener } from '../../io/archive/archive.ts';
import type { Volume, VolumeWriter } from '../../io/volume/volume.ts';

type Item<Action extends PlanItem['action']> = Extract<PlanItem, { action: Action }>;

/**
 * Carries out a plan up to the point where every file lies, complete, in the staging folder. Rides on the pass over the
 * archive: `begin` before it, the listener during it, `abandon` where the archive turned out bad. No final name is
 * given here.
 */
export class StickWriter {
  readonly listener: PassListener;
  readonly #volume: Volume;
  readonly #plan: LayoutPlan;
  readonly #tell: Tell;
  readonly #present: Set<string>;
  readonly #setAside: readonly Item<'set-aside'>[];
  readonly #byEntry = new Map<string, Item<'write'>>();
  readonly #whole: Item<'write'> | undefined;
  #open: { readonly item: Item<'write'>; readonly writer: VolumeWriter } | undefined;
  #doneBytes = 0;
  #waitedMs = 0;

  /** `present`: all that lies on the stick; a folder that an unfinished run made is not made again. */
  constructor(volume: Volume, plan: LayoutPlan, present: readonly string[], tell: Tell) {
    this.#volume = volume;
    this.#plan = plan;
    this.#tell = tell;
    this.#present = new Set(present);
    this.#setAside = itemsOf(plan, 'set-aside');
    const writes = itemsOf(plan, 'write');
    for (const item of writes) if (item.origin.from === 'entry') this.#byEntry.set(item.origin.name, item);
    this.#whole = writes.find(({ origin }) => origin.from === 'archive');
    this.listener = this.#whole === undefined ? this.#entryListener() : { raw: (chunk) => this.#write(chunk) };
  }

  /**
   * Withdraws the manifest first, then clears what the plan clears, then makes room to work in; each on the medium
   * before the next.
   */
  async begin(): Promise<void> {
    const last = new Set<PlanItem>(lastWithdrawals(this.#plan));
    const now = this.#plan.items.filter((item) => !last.has(item));
    for (const item of now) if (item.action === 'withdraw') await this.#clear(item);
    await this.#volume.flush();
    for (const item of now) {
      if (item.action !== 'set-aside' && !this.#isAside(item)) continue;
      await this.#clear(item);
      await this.#volume.flush(); // one after the other: what is on its way is somebody's, and may be the only one
    }
    for (const item of now) if (item.action === 'remove') await this.#clear(item);
    await this.#volume.flush();
    await this.#ensureFolder(stagingFolder);
    for (const item of now) if (item.action === 'make-folder' && !this.#isAside(item)) await this.#clear(item);
    this.#tell(stageOfJob(this.#volume.facts.target, 'writing', this.#plan));
    if (this.#whole !== undefined) await this.#start(this.#whole);
  }

  /** What was written, and how long the stick kept this run waiting for it. */
  get written(): WrittenAmount {
    return { bytes: this.#doneBytes, ms: this.#waitedMs };
  }

  /** Call when the pass is over and the archive is good. Everything staged is on the medium afterwards. */
  async end(): Promise<void> {
    if (this.#open !== undefined) await this.#finish();
    this.#tell(stageOfJob(this.#volume.facts.target, 'flushing', this.#plan));
    await this.#timed(() => this.#volume.flush());
  }

  /** Call when the new record lies complete on the stick. */
  async withdrawRest(): Promise<void> {
    for (const { to } of itemsOf(this.#plan, 'withdraw')) if (to !== undefined) await this.#volume.removeFile(to);
    for (const item of lastWithdrawals(this.#plan)) await this.#clear(item);
    await this.#volume.flush();
  }

  /** Ends a file that was cut off, so that the volume can be closed; what is staged stays for the next run. */
  async letGo(): Promise<void> {
    const open = this.#open;
    this.#open = undefined;
    await open?.writer.close();
  }

  #entryListener(): PassListener {
    return {
      entryStart: async (entry: ArchiveEntry) => {
        const item = this.#byEntry.get(entry.name);
        if (item === undefined) return;
        await this.#start(item);
      },
      entryData: (_entry, chunk) => this.#write(chunk),
      entryEnd: () => this.#finish(),
    };
  }

  async #start(item: Item<'write'>): Promise<void> {
    const path = `${stagingFolder}/${item.path}`;
    await this.#ensureFolder(parentOf(path));
    this.#open = { item, writer: await this.#volume.create(path, item.bytes) };
  }

  async #write(chunk: Uint8Array): Promise<void> {
    const open = this.#open;
    if (open === undefined) return;
    await this.#timed(() => open.writer.write(chunk));
    this.#wrote(chunk.byteLength);
  }

  #wrote(bytes: number): void {
    this.#doneBytes += bytes;
    const totalBytes = this.#plan.writeBytes;
    const { target } = this.#volume.facts;
    this.#tell({ kind: 'progress', target, stage: 'writing', doneBytes: this.#doneBytes, totalBytes });
  }

  async #finish(): Promise<void> {
    const open = this.#open;
    this.#open = undefined;
    if (open === undefined) return;
    await this.#timed(() => open.writer.close());
    this.#done(open.item);
  }

  async #timed(work: () => Promise<void>): Promise<void> {
    const startedMs = performance.now();
    await work();
    this.#waitedMs += performance.now() - startedMs;
  }

  async #clear(item: PlanItem): Promise<void> {
    if (item.action === 'set-aside') {
      await this.#volume.rename(item.path, item.to);
      this.#done(item);
    } else if (item.action === 'withdraw' && item.to !== undefined) {
      await this.#volume.rename(item.path, item.to);
      this.#done(item);
    } else if (item.action === 'remove' || item.action === 'withdraw') {
      await this.#remove(item);
    } else if (item.action === 'make-folder') {
      if (this.#isAside(item)) await this.#volume.makeFolder(item.path);
      else await this.#ensureFolder(`${stagingFolder}/${item.path}`);
      this.#done(item);
    }
  }

  #isAside(item: PlanItem): boolean {
    return item.action === 'make-folder' && this.#setAside.some(({ to }) => to.startsWith(`${item.path}/`));
  }

  async #remove(item: Item<'remove'> | Item<'withdraw'>): Promise<void> {
    await (item.kind === 'file' ? this.#volume.removeFile(item.path) : this.#volume.removeFolder(item.path));
    this.#present.delete(item.path);
    this.#done(item);
  }

  async #ensureFolder(path: string): Promise<void> {
    if (path === '' || this.#present.has(path)) return;
    await this.#ensureFolder(parentOf(path));
    await this.#volume.makeFolder(path);
    this.#present.add(path);
  }

  #done(item: PlanItem): void {
    this.#tell({ kind: 'item', target: this.#volume.facts.target, item });
  }
}

export function itemsOf<Action extends PlanItem['action']>(plan: LayoutPlan, action: Action): readonly Item<Action>[] {
  return plan.items.filter((item): item is Item<Action> => item.action === action);
}

/** Those that come when all else is done: the plan has them behind the last file. */
function lastWithdrawals({ items }: LayoutPlan): readonly Item<'withdraw'>[] {
  const lastFile = items.findLastIndex(({ action }) => action === 'write' || action === 'keep');
  return items.slice(lastFile + 1).filter((item): item is Item<'withdraw'> => item.action === 'withdraw');
}
