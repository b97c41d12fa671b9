import type { PublishedHashes } from '../core/checks/archive/check-published-hashes.ts';
import type { ProofFacts } from '../core/checks/medium/check-proof.ts';
import type { FirmwareNames } from '../core/contents/firmware-signs.ts';
import type { WantedTree } from '../core/contents/wanted-tree.ts';
import type { ArchiveFacts } from '../core/model/archive-facts.ts';
import type { ModeRules } from '../core/model/family.ts';
import type { Mode } from '../core/model/mode.ts';
import type { LabelReading, PackageReading } from '../core/model/panel-identity.ts';
import type { FileGlance, StickEntry } from '../core/model/stick-facts.ts';
import type { FormatPlan, FormatWish, KeptLeft, Losses, MediumPlace } from '../core/report/medium-reports.ts';
import type { UpdatePackageFacts } from '../core/update-package/update-package-facts.ts';
import type { MediumFacts } from '../core/volume-format/audit/flaw.ts';
import type { WaysAsked } from '../core/volume-format/audit/way-tree.ts';
import type { OpenArchive, PassListener } from '../io/archive/archive.ts';
import type { Digesting } from '../io/digest/digest.ts';
import type { OpenVolume, Volume } from '../io/volume/volume.ts';

/** Everything that a workflow needs from outside. */
export interface Ports {
  readonly openArchive: OpenArchive;
  readonly openVolume: OpenVolume;
  readonly digesting: Digesting;
  /**
   * Reads an image file, a raw device or what is under a mounted folder sector by sector, what leads to the files ASKED
   * for as the strictest reader; writes nothing.
   */
  readonly auditMedium: (target: string, asked?: WaysAsked) => Promise<MediumFacts>;
  readonly watchUpdatePackage: WatchUpdatePackage;
  /** Looks into FILES of a stick, within bounds: their ends and, of archives, the directory and what lies in them. */
  readonly lookInto: (
    volume: Volume,
    files: readonly StickEntry[],
    signal: AbortSignal,
  ) => Promise<ReadonlyMap<string, FileGlance>>;
  readonly findPublishedHashes: (archivePath: string) => Promise<PublishedHashes>;
  /** RFC 3339, UTC. */
  readonly now: () => string;
  /** A code for a stick's tag, hard to misread, never the same twice in practice. */
  readonly newStickCode: () => string;
  readonly toolVersion: string;
  /** The desk's key, where it has one: what it prepares is sealed. */
  readonly deskKey: { readonly publicKey: string; readonly sign: (text: string) => string } | undefined;
  /** Whether a signature over a text was made with a public key; keys and signatures in base64. */
  readonly isSignedBy: (publicKey: string, text: string, signature: string) => boolean;
}

/** What an image output needs from outside; see io/format/image-files.ts. */
export interface ImagePorts {
  /** Returns where the image lies until it is finished. */
  readonly startImage: (
    path: string,
    image: { readonly bytes: number; readonly volumeSerial: number; readonly at: string },
  ) => Promise<string>;
  /** Returns the image's SHA-256. */
  readonly finishImage: (path: string) => Promise<string>;
  readonly discardImage: (path: string) => Promise<void>;
}

/** Rides along on the one pass over the archive and answers when it is over. */
type WatchUpdatePackage = (
  archive: ArchiveFacts,
  options: { readonly trusted: readonly Uint8Array[] },
) => { readonly listener: PassListener; result(): Promise<UpdatePackageFacts> };

/** What formatting needs from outside. Every function throws ToolError. */
export interface FormatPorts {
  /** Throws `stick/refused` for whatever may never be erased. */
  readonly findMedium: (target: string, options: { readonly mayBeNew: boolean }) => Promise<MediumPlace>;
  readonly listLosses: (medium: MediumPlace) => Promise<Losses>;
  /** Throws `stick/refused` where there is no such volume. */
  readonly planFormat: (medium: MediumPlace, wish: FormatWish) => FormatPlan;
  /** Erases, formats and reads back. Throws `stick/swapped`, `stick/in-use`, `stick/write-failed`. */
  readonly formatMedium: (
    medium: MediumPlace,
    wish: FormatWish,
    running: {
      readonly signal: AbortSignal;
      readonly heard: (stage: 'writing' | 'reading-back', doneBytes: number, totalBytes: number) => void;
    },
  ) => Promise<{ readonly made: MediumFacts; readonly readBack: 'medium' | 'cache' }>;
}

/** How a long piece of work is stopped and watched. */
export interface ProveRunning {
  readonly signal: AbortSignal;
  readonly heard: (stage: 'writing' | 'reading-back', doneBytes: number, totalBytes: number) => void;
}

/** What a proof needs from outside. Every function throws ToolError. */
export interface ProvePorts extends Pick<FormatPorts, 'findMedium' | 'listLosses'> {
  readonly openVolume: OpenVolume;
  /** Erases. Throws `stick/swapped`, `stick/in-use`, `stick/gone`. */
  readonly proveMedium: (medium: MediumPlace, how: 'whole' | 'sample', running: ProveRunning) => Promise<ProofFacts>;
  /** Writes files of its own and removes them; the volume stays the caller's to close. */
  readonly proveFreeSpace: (volume: Volume, running: ProveRunning) => Promise<ProofFacts>;
}

/** What one run prepares, the same for all its sticks. */
export interface Job {
  readonly mode: Mode;
  readonly archive: ArchiveFacts;
  readonly label: LabelReading;
  readonly package: PackageReading;
  readonly rules: ModeRules;
  readonly wanted: WantedTree;
  readonly names: FirmwareNames;
}

/** A file on the stick that is to be kept at the desk. */
interface FileToKeep {
  readonly path: string;
  readonly bytes: number;
  /** Its bytes in order; a chunk is only valid until the next is asked for. */
  readonly read: () => Promise<AsyncIterable<Uint8Array>>;
}

/** What looking at a returned stick, and clearing it, needs from outside. */
export interface ReturnedPorts
  extends Pick<Ports, 'openVolume' | 'digesting' | 'isSignedBy' | 'auditMedium' | 'lookInto' | 'now'> {
  /**
   * Copies FILES to a new folder NAME in DIR and reads them back. Nothing is overwritten, and no folder of that name is
   * there before all of it is. Throws ToolError `file/not-found`, `file/not-permitted`, `file/unreadable`, and what
   * `read` throws.
   */
  readonly keepLeft: (
    dir: string,
    name: string,
    files: readonly FileToKeep[],
    signal: AbortSignal,
  ) => Promise<KeptLeft>;
  /**
   * Takes the mark of an unclean pull from the FAT volume in an image file or a raw device, and nothing else. The
   * caller has found the volume sound. Throws ToolError as writing to a volume does.
   */
  readonly settleDirtyMark: (target: string) => Promise<void>;
}
