import { judgeDrive } from '../core/checks/stick/judge-drive.ts';
import type { FoundPackage } from '../core/guide/package-question.ts';
import type { Family } from '../core/model/family.ts';
import { modes } from '../core/model/mode.ts';
import { doubtOf } from '../core/report/name-targets.ts';
import type { DeskEvent, DeskSeen, TargetSeen } from '../core/report/window-talk.ts';
import { openDraft } from '../io/files/drafts.ts';
import { findDownloads } from '../io/files/find-downloads.ts';
import { modeInWords, nameInWords, volumeInShort } from '../render/text/render-drives.ts';
import type { DeskAtHand } from './desk-at-hand.ts';
import type { DeskParts } from './desk-parts.ts';
import { Elsewhere } from './elsewhere.ts';
import { type Hear, Pages } from './pages.ts';
import { Paper } from './paper.ts';
import type { DriveLookedAt, FromProcess } from './process-talk.ts';
import { Processes } from './processes.ts';
import { Rounds } from './rounds.ts';
import { settingsHeld, settingsOfPage, takeSettings } from './settings-held.ts';
import { Work } from './work.ts';

/** Work is told at most so often: more than four times a second, and no more than a page can draw. */
const tellMs = 150;

/** One look at the drives takes less, unless one of them hangs. */
const lookMs = 10_000;

/** Where the process that looks at the drives has ended, another is started so much later. */
const againMs = 5000;

/** The desk as the window sees it: what lies on it, what is plugged in, what is under way. Pages come and go. */
export class Desk implements DeskAtHand {
  readonly parts: DeskParts;
  readonly work: Work;
  readonly rounds: Rounds;
  readonly paper = new Paper();
  readonly processes: Processes;
  /** Where what takes long is answered. */
  readonly elsewhere: Elsewhere;
  targets: readonly TargetSeen[] = [];
  targetsFailed: string | undefined;
  readonly #pages = new Pages();
  #isClosed = false;
  #lookTimer: NodeJS.Timeout | undefined;
  #tellTimer: NodeJS.Timeout | undefined;
  #packages: readonly FoundPackage[] = [];
  #families: readonly Family[] = [];

  constructor(parts: DeskParts) {
    this.parts = parts;
    this.rounds = new Rounds(parts, { place: undefined, laid: () => {} });
    this.processes = new Processes(parts, () => ({
      targets: this.targets,
      round: this.rounds.place,
      settings: settingsHeld(),
    }));
    const hear = (message: FromProcess): void => this.#hear(message);
    this.work = new Work({
      processes: this.processes,
      changed: (atOnce) => this.#tellWork(atOnce ? 0 : tellMs),
      hear,
    });
    this.elsewhere = new Elsewhere(this.processes, hear);
  }

  /** Hears every event from now on, and first how everything stands; ends with what it returns. */
  listen(hear: Hear): () => void {
    hear(this.#targetsEvent());
    return this.#pages.open(hear, this.work.seen());
  }

  tell(event: DeskEvent): void {
    this.#pages.tell(event);
  }

  async seen(): Promise<DeskSeen> {
    this.useSettings();
    const { version, who } = this.parts;
    const { families } = await this.parts.families();
    this.#families = families;
    const [packages, shelf, round] = await Promise.all([this.packages(), this.#shelfFolder(), this.rounds.folder()]);
    return { version, who, families, packages, shelf, round: round?.place, ...settingsOfPage() };
  }

  /** What the file of settings says holds from now on; what is under way goes on as it was begun. */
  useSettings(): void {
    if (!takeSettings()) return;
    this.elsewhere.layAgain();
    this.tell({ event: 'changed', what: 'desk' });
  }

  /** What lies on the shelf, in the download folder and where the desk was started. */
  async packages(): Promise<readonly FoundPackage[]> {
    const shelved = await this.parts
      .shelf({ make: false })
      .then(({ shelf }) => shelf.list())
      .catch(() => ({ packages: [] }));
    this.#packages = [
      ...shelved.packages.map(({ path, record }) => ({ path, name: record.name, place: 'on the shelf' })),
      ...(await findDownloads(process.env)),
    ];
    return this.#packages;
  }

  /** Whether the page may name this package: it was listed, nothing else of this computer is open to it. */
  async knowsPackage(path: string): Promise<boolean> {
    const isIt = (one: FoundPackage): boolean => one.path === path;
    return this.#packages.some(isIt) || (await this.packages()).some(isIt);
  }

  knowsTarget(target: string): boolean {
    return this.targets.some((one) => one.target === target && one.refused === undefined);
  }

  /** What was written on the slip so far; in a file of the desk, so that nothing typed is lost. */
  draft = () => openDraft('slip');

  /** Has the drives looked at until the desk is closed, by a process that may hang at one of them. */
  watch(): void {
    if (this.#isClosed) return;
    const looking = this.processes.lookOut();
    const patient = (): void => {
      clearTimeout(this.#lookTimer);
      this.#lookTimer = setTimeout(() => this.#takeFailure(drivesHang), lookMs);
    };
    looking.hear((message) => {
      patient();
      if (message.say === 'unseen') this.#takeFailure(message.why);
      if (message.say !== 'seen') return;
      this.#takeTargets([...message.drives.map((one) => driveSeen(one, this.#families)), ...message.chosen]);
    });
    void looking.ended.then((why) => {
      clearTimeout(this.#lookTimer);
      if (this.#isClosed) return;
      this.#takeFailure(why.message);
      this.#lookTimer = setTimeout(() => this.watch(), againMs);
    });
    patient();
  }

  #takeTargets(next: readonly TargetSeen[]): void {
    const isSame = this.targetsFailed === undefined && JSON.stringify(next) === JSON.stringify(this.targets);
    this.targets = next;
    this.targetsFailed = undefined;
    if (!isSame) this.#tellTargets();
  }

  #takeFailure(why: string): void {
    if (this.targetsFailed === why) return;
    this.targetsFailed = why;
    this.#tellTargets();
  }

  #tellTargets(): void {
    this.elsewhere.layAgain();
    this.tell(this.#targetsEvent());
  }

  /** What a process says of the desk. */
  #hear(message: FromProcess): void {
    if (message.say === 'tell') this.tell(message.event);
    else if (message.say === 'laid') this.rounds.take(message.round);
    else if (message.say === 'paper') this.paper.keep(message.ticket, message.page);
    else if (message.say === 'start') this.work.startNamed(message.work);
  }

  readonly #targetsEvent = (): DeskEvent => ({
    event: 'targets',
    targets: this.targets,
    failed: this.targetsFailed,
  });

  async #shelfFolder(): Promise<string | undefined> {
    return await this.parts.shelf({ make: false }).then(
      ({ shelf }) => shelf.place,
      () => undefined,
    );
  }

  #tellWork(withinMs: number): void {
    if (withinMs === 0) {
      clearTimeout(this.#tellTimer);
      this.#tellTimer = undefined;
    }
    this.#tellTimer ??= setTimeout(() => {
      this.#tellTimer = undefined;
      this.#pages.tellWork(this.work.seen());
    }, withinMs);
  }

  /** Nothing is looked at any more, and the pages are told. What is under way is the caller's to stop first. */
  async close(): Promise<void> {
    this.#isClosed = true;
    clearTimeout(this.#tellTimer);
    clearTimeout(this.#lookTimer);
    await this.elsewhere.close();
    this.tell({ event: 'closing' });
    this.processes.end();
  }
}

const drivesHang =
  'the system gives no answer about one of them. A stick that is dying can do that: pull it out, and the others are seen again.';

function driveSeen({ drive, choice, rights }: DriveLookedAt, families: readonly Family[]): TargetSeen {
  const doubt = 'target' in choice ? doubtOf(drive) : undefined;
  const judged = { ...drive, modes: judgeDrive(drive, families) };
  return {
    target: 'target' in choice ? choice.target : drive.device,
    kind: 'drive',
    name: nameInWords(drive),
    device: drive.device,
    bytes: drive.bytes,
    serial: drive.serial,
    holds: drive.volumes.map(volumeInShort),
    refused: 'reason' in choice ? choice.reason : undefined,
    doubt,
    rights,
    // Of one that is doubted the doubt is all that would be said.
    would: doubt === undefined ? modes.map((mode) => ({ mode, words: modeInWords(judged, mode) })) : [],
  };
}
