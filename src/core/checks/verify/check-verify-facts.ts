import type { Finding } from '../../findings/finding.ts';
import type { ManifestReading } from '../../manifest/build-manifest.ts';
import type { Manifest, ManifestFile } from '../../model/manifest.ts';
import type { Mode } from '../../model/mode.ts';
import type { FileGlance, StickEntry, StickFacts } from '../../model/stick-facts.ts';
import type { MediumFacts } from '../../volume-format/audit/flaw.ts';
import { checkMediumBeside, stopsOfNextJob } from '../medium/check-medium.ts';
import { checkMounts, checkOneVolume } from '../stick/check-format.ts';
import { type ContentFacts, checkStickContent } from './check-content.ts';
import { checkFirmware } from './check-firmware.ts';
import { checkPresence } from './check-presence.ts';
import {
  checkHistory,
  checkManifest,
  checkMode,
  checkSeal,
  checkSettled,
  checkStickRecordFiles,
  checkVolume,
  type SealFacts,
} from './check-record.ts';

/** A stick and its record as they were found, to be compared. */
export interface VerifyFacts {
  readonly target: string;
  readonly stick: StickFacts;
  readonly entries: readonly StickEntry[];
  readonly reading: ManifestReading;
  readonly medium: MediumFacts;
  /** What the stick was last prepared for, as far as anything on it says. */
  readonly lastMode: Mode | undefined;
  /** All that had to be written was on the medium at the first look, and still after the last. */
  readonly isSettled: boolean;
  readonly isStillSettled: boolean;
  /** undefined where there is no manifest to compare with. */
  readonly beside: BesideManifest | undefined;
}

export interface BesideManifest {
  readonly manifest: Manifest;
  readonly glances: ReadonlyMap<string, FileGlance>;
  /** What the person is about to do with it. */
  readonly mode: Mode | undefined;
  /** What `check-label` says of the panel's label; nothing where nobody gave one. */
  readonly ofLabel: readonly Finding[];
  /** What must lie beside the manifest. */
  readonly record: readonly ManifestFile[];
  readonly seal: Omit<SealFacts, 'target'>;
  /** undefined where only names and sizes were asked for. */
  readonly content: ContentFacts | undefined;
}

/** Everything that verify says, from cheap to dear. */
export function checkVerifyFacts(facts: VerifyFacts): readonly Finding[] {
  const { target, stick, entries, reading, medium, lastMode, isSettled, isStillSettled, beside } = facts;
  const stops = beside === undefined ? stopsOfNextJob(medium, stick, lastMode) : [];
  return [
    ...checkSettled(target, isSettled),
    ...checkMounts(target, entries),
    ...stops,
    ...checkManifest(target, { reading, entries, isStopped: stops.length > 0 }),
    ...(beside === undefined ? [] : checkBeside(facts, beside)),
    ...checkSettled(target, !isSettled || isStillSettled),
  ];
}

function checkBeside({ target, stick, entries, medium }: VerifyFacts, beside: BesideManifest): readonly Finding[] {
  const { manifest, glances, mode, ofLabel, record, seal, content } = beside;
  const overridden = new Set(manifest.overrides.map(({ code }) => code)); // the record says so itself, with the reason
  return [
    ...checkVolume(stick, manifest),
    ...checkMediumBeside(medium, { target, mode: manifest.mode }),
    ...checkOneVolume(stick).filter(({ code }) => !overridden.has(code)),
    ...checkPresence(target, manifest, entries),
    ...checkFirmware(target, manifest, glances),
    ...(mode === undefined ? [] : checkMode(target, manifest, mode)),
    ...ofLabel,
    ...checkHistory(target, manifest),
    ...checkStickRecordFiles(record, entries),
    ...checkSeal({ target, ...seal }),
    ...checkStickContent(target, content),
  ];
}
