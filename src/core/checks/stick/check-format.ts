import { type Finding, finding } from '../../findings/finding.ts';
import type { ModeRules } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { StickFacts } from '../../model/stick-facts.ts';

/** The panel must be able to read the volume: file system, partition table, cluster and sector size. */
export function checkFormat(stick: StickFacts, mode: Mode, rules: ModeRules): readonly Finding[] {
  return [
    ...checkFileSystem(stick, mode, rules),
    ...checkOneVolume(stick),
    ...checkTable(stick, mode, rules),
    ...checkUnits(stick, mode),
  ];
}

/** Which volume a panel takes must not be a matter of chance, nor may another one hold a firmware that nobody looked at. */
export function checkOneVolume({ otherVolumes, target, kind, drive }: StickFacts): readonly Finding[] {
  if (otherVolumes !== undefined && otherVolumes.volumes.length > 0)
    return [finding('stick/several-volumes', target, { others: otherVolumes.volumes })];
  const isWholeStick = kind === 'folder' && drive?.removable === true; // of another one it is said that it is no stick
  if (!isWholeStick || otherVolumes?.from === 'sectors') return [];
  return [
    otherVolumes === undefined
      ? finding('stick/rest-not-looked-at', target)
      : finding('stick/rest-as-listed', target, { device: drive.device }),
  ];
}

function checkFileSystem({ fileSystem, target }: StickFacts, mode: Mode, rules: ModeRules): readonly Finding[] {
  const allowed = rules['file-systems'];
  if (fileSystem === 'unknown') return [finding('stick/file-system-unknown', target, { allowed })];
  if (allowed.some((one) => one === fileSystem)) return [];
  return [finding('stick/file-system-not-taken', target, { fileSystem, allowed, mode })];
}

function checkTable(stick: StickFacts, mode: Mode, rules: ModeRules): readonly Finding[] {
  const allowed = rules['partition-table'];
  const several =
    mode === 'recovery' && stick.partitions.length > 1 && (stick.otherVolumes?.volumes.length ?? 0) === 0
      ? [finding('stick/several-partitions', stick.target, { count: stick.partitions.length })]
      : [];
  if (allowed === undefined || allowed.some((one) => one === stick.partitionTable)) return several;
  return stick.partitionTable === 'unknown'
    ? [finding('stick/partition-table-unknown', stick.target, { allowed }), ...several]
    : [finding('stick/partition-table-not-taken', stick.target, { table: stick.partitionTable, allowed }), ...several];
}

/** U-Boot, fs/fat: clusters of at most 65,536 bytes, sectors of the device's size. */
function checkUnits({ clusterBytes, sectorBytes, target, fileSystem }: StickFacts, mode: Mode): readonly Finding[] {
  const isFat = fileSystem === 'fat12' || fileSystem === 'fat16' || fileSystem === 'fat32';
  if (mode !== 'recovery' || !isFat) return [];
  const found: Finding[] = [];
  if (clusterBytes !== undefined && clusterBytes > 65_536)
    found.push(finding('stick/cluster-too-large', target, { clusterBytes }));
  if (sectorBytes !== undefined && sectorBytes !== 512)
    found.push(finding('stick/sectors-too-large', target, { sectorBytes }));
  return found;
}
