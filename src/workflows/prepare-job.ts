import type { ArchiveFacts } from '../core/model/archive-facts.ts';
import type { ModeRules } from '../core/model/family.ts';
import type { Mode } from '../core/model/mode.ts';
import type { LabelReading, PackageReading } from '../core/model/panel-identity.ts';
import type { FirmwareNames } from '../core/plan/firmware-signs.ts';
import type { WantedTree } from '../core/plan/wanted-tree.ts';

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
