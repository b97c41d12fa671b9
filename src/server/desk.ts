import { accessSync, constants, existsSync } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import { judgeDrive } from '../core/checks/stick/judge-drive.ts';
import type { FoundPackage } from '../core/guide/package-question.ts';
import type { Drive } from '../core/model/drive.ts';
import type { Family } from '../core/model/family.ts';
import { modes } from '../core/model/mode.ts';
import { targetOf } from '../core/report/name-targets.ts';
import type { DeskEvent, DeskSeen, TargetSeen } from '../core/report/window-talk.ts';
import { listDrives } from '../io/drives/list-drives.ts';
import { openDraft } from '../io/files/drafts.ts';
import { findDownloads } from '../io/files/find-downloads.ts';
import { modeInWords, nameInWords, volumeInShort } from '../render/text/render-drives.ts';
import { watchDrives } from '../workflows/watch-drives.ts';
import type { DeskParts } from './desk-parts.ts';
import { Rounds } from './rounds.ts';
import { Work } from './work.ts';

/** Drives are looked at about once a second. */
const pauseMs = 1000;

/** Work is told at most so often: more than four times a second, and no more than a page can draw. */
const tellMs = 150;

/** The desk as the window sees it: what lies on it, what is plugged in, what is under way. Pages come and go. */
export class Desk {
  readonly parts: DeskParts;
  readonly work: Work;
  readonly rounds: Rounds;
  targets: readonly TargetSeen[] = [];
  targetsFailed: string | undefined;
  readonly #listeners = new Set<(event: DeskEvent) => void>();
  readonly #over = new AbortController();
  #tellTimer: NodeJS.Timeout | undefined;
  #packages: readonly FoundPackage[] = [];
  #families: readonly Family[] = [];

  constructor(parts: DeskParts) {
    this.parts = parts;
    this.rounds = new Rounds(parts);
    this.work = new Work((atOnce) => this.#tellWork(atOnce ? 0 : tellMs));
  }

  /** Hears every event from now on, and first how everything stands; ends with what it returns. */
  listen(hear: (event: DeskEvent) => void): () => void {
    hear(this.#targetsEvent());
    hear({ event: 'work', work: this.work.seen() });
    this.#listeners.add(hear);
    return () => this.#listeners.delete(hear);
  }

  tell(event: DeskEvent): void {
    for (const hear of this.#listeners) hear(event);
  }

  async seen(): Promise<DeskSeen> {
    const { version, who } = this.parts;
    const { families } = await this.parts.families();
    this.#families = families;
    const [packages, shelf, round] = await Promise.all([this.packages(), this.#shelfFolder(), this.rounds.folder()]);
    return { version, who, families, packages, shelf, round: round?.place };
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

  /** Looks at the drives until the desk is closed. */
  async watch(): Promise<void> {
    const { signal } = this.#over;
    const look = async (): Promise<readonly Drive[]> => {
      const drives = await listDrives();
      this.#takeTargets(drives);
      return drives;
    };
    this.#takeTargets([]);
    const failed = (error: unknown): void => {
      this.targetsFailed = error instanceof Error ? error.message : String(error);
      this.tell(this.#targetsEvent());
    };
    while (!signal.aborted) {
      await watchDrives(
        { families: [], all: true },
        {
          listDrives: look,
          pause: async (until) => void (await wait(pauseMs, undefined, { signal: until }).catch(() => {})),
        },
        { signal, listed: async () => {}, happened: async () => {}, failed },
      ).catch(failed);
      await wait(pauseMs, undefined, { signal }).catch(() => {});
    }
  }

  #takeTargets(drives: readonly Drive[]): void {
    const next = [
      ...drives.filter(isStick).map((drive) => driveSeen(drive, this.#families)),
      ...this.parts.sticks.map(chosenSeen),
    ];
    const isSame = this.targetsFailed === undefined && JSON.stringify(next) === JSON.stringify(this.targets);
    this.targets = next;
    this.targetsFailed = undefined;
    if (!isSame) this.tell(this.#targetsEvent());
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
      this.tell({ event: 'work', work: this.work.seen() });
    }, withinMs);
  }

  /** Nothing is looked at any more, and the pages are told. What is under way is the caller's to stop first. */
  close(): void {
    clearTimeout(this.#tellTimer);
    this.#over.abort();
    this.tell({ event: 'closing' });
  }
}

/** What somebody could take for a stick; the computer's own disks are none of the page's business. */
const isStick = ({ usb, removable, refusedBecause }: Drive): boolean =>
  refusedBecause === undefined || (usb === true && removable === true);

function driveSeen(drive: Drive, families: readonly Family[]): TargetSeen {
  const judged = { ...drive, modes: judgeDrive(drive, families) };
  const choice = drive.refusedBecause === undefined ? targetOf(drive) : { reason: drive.refusedBecause };
  const target = 'target' in choice ? choice.target : drive.device;
  return {
    target,
    kind: 'drive',
    name: nameInWords(drive),
    device: drive.device,
    bytes: drive.bytes,
    serial: drive.serial,
    holds: drive.volumes.map(volumeInShort),
    refused: 'reason' in choice ? choice.reason : undefined,
    rights: 'reason' in choice || process.platform !== 'linux' ? undefined : rightsOf(drive, target),
    would: modes.map((mode) => ({ mode, words: modeInWords(judged, mode) })),
  };
}

/**
 * What this account may not do with a stick, and the one command that changes only that. A drive that no system has
 * opened as a folder is written sector by sector, and most accounts may not do that.
 */
function rightsOf({ device, volumes }: Drive, target: string): TargetSeen['rights'] {
  try {
    accessSync(target, constants.R_OK | constants.W_OK);
    return undefined;
  } catch {
    const [volume] = volumes;
    if (target !== device)
      return {
        cannot: `This account may not write into ${target}: somebody else, or a stick that is read-only, opened it.`,
        command: `udisksctl unmount -b ${volume?.device ?? device} && udisksctl mount -b ${volume?.device ?? device}`,
      };
    const cannot = `This account may not write to ${device} itself; `;
    return volume === undefined
      ? {
          cannot: `${cannot}this lends it the right until the stick is pulled:`,
          command: `sudo chown $USER ${device}`,
        }
      : {
          cannot: `${cannot}opened as a folder, the stick needs no such right:`,
          command: `udisksctl mount -b ${volume.device}`,
        };
  }
}

function chosenSeen(target: string): TargetSeen {
  return {
    target,
    kind: 'chosen',
    name: target.split(/[\\/]/).at(-1) ?? target,
    device: undefined,
    bytes: undefined,
    serial: undefined,
    holds: [],
    refused: existsSync(target) ? undefined : 'it is not there any more',
    rights: undefined,
    would: [],
  };
}
