import type { HashClaim } from '../core/checks/archive/check-published-hashes.ts';
import type { Finding } from '../core/findings/finding.ts';
import type { ArchiveFacts } from '../core/model/archive-facts.ts';
import type { FileGlance } from '../core/model/file-glance.ts';
import type { StickEntry } from '../core/model/stick-facts.ts';
import type { FormatPlan, FormatWish, Losses, MediumPlace } from '../core/report/medium-reports.ts';
import type { ProofFacts } from '../core/report/proof-facts.ts';
import type { UpdatePackageFacts } from '../core/update-package/update-package-facts.ts';
import type { WaysAsked } from '../core/volume-format/audit/audit-ways.ts';
import type { MediumFacts } from '../core/volume-format/audit/medium-facts.ts';
import type { OpenArchive, PassListener } from '../io/archive/archive.ts';
import type { Digesting } from '../io/digest/digest.ts';
import type { OpenVolume, Volume } from '../io/volume/volume.ts';

/** Everything that a workflow needs from outside. */
export interface Ports {
  readonly openArchive: OpenArchive;
  readonly openVolume: OpenVolume;
  readonly digesting: Digesting;
  /** Reads an image file, a raw device or what is under a mounted folder sector by sector, what leads to the files ASKED for as the strictest reader; writes nothing. */
  readonly auditMedium: (target: string, asked?: WaysAsked) => Promise<MediumFacts>;
  readonly watchUpdatePackage: WatchUpdatePackage;
  /** Looks into FILES of a stick, within bounds: their ends and, of archives, the directory and what lies in them. */
  readonly lookInto: (
    volume: Volume,
    files: readonly StickEntry[],
    signal: AbortSignal,
  ) => Promise<ReadonlyMap<string, FileGlance>>;
  /** What checksum files beside an archive say about it, and what is to be said of lists that cannot be used. */
  readonly findPublishedHashes: (
    archivePath: string,
  ) => Promise<{ readonly claims: readonly HashClaim[]; readonly findings: readonly Finding[] }>;
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
export type WatchUpdatePackage = (
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
