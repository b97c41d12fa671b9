import type { FactsOf } from '../../findings/catalogue.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { ModeRules } from '../../model/family.ts';
import { type Mode, modeTraits } from '../../model/mode.ts';
import type { StickEntry, StickFacts } from '../../model/stick-facts.ts';
import { readByteSize } from '../../text/byte-size.ts';

/** The panel must be able to read the volume: file system, partition table, cluster and sector size. */
export function checkFormat(stick: StickFacts, mode: Mode, rules: ModeRules): readonly Finding[] {
  return [
    ...checkFileSystem(stick, mode, rules),
    ...checkOneVolume(stick),
    ...checkTable(stick, mode, rules),
    ...checkUnits(stick, mode),
  ];
}

/**
 * Which volume a panel takes must not be a matter of chance, nor may another one hold a firmware that nobody looked at.
 */
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
    modeTraits[mode].isReadAtBoot && stick.partitions.length > 1 && (stick.otherVolumes?.volumes.length ?? 0) === 0
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
  if (!modeTraits[mode].isReadAtBoot || !isFat) return [];
  const found: Finding[] = [];
  if (clusterBytes !== undefined && clusterBytes > 65_536)
    found.push(finding('stick/cluster-too-large', target, { clusterBytes }));
  if (sectorBytes !== undefined && sectorBytes !== 512)
    found.push(finding('stick/sectors-too-large', target, { sectorBytes }));
  return found;
}

/** Where boot loaders that keep FAT offsets in 16 bits end (common practice, no source). */
const largeForBootLoaders = 32e9;

/** A stick "of 32 GB" may hold a little more than its name: 5 % are let through. */
const nameTolerance = 1.05;

export function checkSize(stick: StickFacts, mode: Mode, rules: ModeRules): readonly Finding[] {
  const bytes = stick.mediumBytes ?? stick.drive?.bytes ?? stick.volumeBytes;
  const limit = rules['largest-stick'];
  if (limit !== undefined) {
    const largest = readByteSize(limit);
    return bytes > largest * nameTolerance
      ? [finding('stick/larger-than-the-panel-takes', stick.target, { bytes, largest })]
      : [];
  }
  const isLarge = modeTraits[mode].isReadAtBoot && bytes > largeForBootLoaders * nameTolerance;
  return isLarge ? [finding('stick/large-for-a-boot-loader', stick.target, { bytes })] : [];
}

/**
 * Is it a stick, can it be written, was it pulled in the middle? A mounted volume is marked dirty by the operating
 * system itself while it is mounted, so the mark is only judged on images and devices.
 */
export function checkCondition(stick: StickFacts, agreed: boolean): readonly Finding[] {
  const found: Finding[] = [];
  const where = stick.drive === undefined ? stick.target : `${stick.target} (${stick.drive.device})`;
  const isStick = stick.kind === 'image' || (stick.drive?.removable === true && stick.drive.usb === true);
  if (!isStick && stick.driveUnlisted !== undefined) {
    const code = agreed ? 'stick/drives-not-listed-agreed' : 'stick/drives-not-listed';
    found.push(finding(code, stick.target, { reason: stick.driveUnlisted }));
  } else if (!isStick) {
    const code = agreed ? 'stick/not-a-removable-drive-agreed' : 'stick/not-a-removable-drive';
    found.push(finding(code, stick.target, { where }));
  }
  if (stick.readOnly) found.push(finding('stick/read-only', stick.target, { by: readOnlyBy(stick) }));
  if (stick.dirty === true && stick.kind !== 'folder') found.push(finding('stick/dirty', stick.target));
  return found;
}

function readOnlyBy({ kind, drive, dirty }: StickFacts): FactsOf<'stick/read-only'>['by'] {
  if (drive?.readOnly === true) return 'drive';
  if (kind !== 'folder') return 'account';
  return dirty === true ? 'driver' : 'mount';
}

/** The stick ends where something else is mounted in it; and what can be named, but not looked into, is named. */
export function checkMounts(target: string, entries: readonly StickEntry[]): readonly Finding[] {
  const pathsOf = (isMeant: (entry: StickEntry) => boolean) => entries.filter(isMeant).map(({ path }) => path);
  const mounts = pathsOf(({ isMount }) => isMount === true);
  const links = pathsOf(({ odd }) => odd === 'link');
  const special = pathsOf(({ odd }) => odd === 'special');
  const names = pathsOf(({ odd }) => odd === 'name');
  return [
    ...(mounts.length > 0 ? [finding('stick/mount-inside', target, { paths: mounts })] : []),
    ...(links.length > 0 ? [finding('stick/links', target, { paths: links })] : []),
    ...(special.length > 0 ? [finding('stick/special-files', target, { paths: special })] : []),
    ...(names.length > 0 ? [finding('stick/unreadable-names', target, { paths: names })] : []),
  ];
}

/** FAT32 wherever the panel takes it: both readers, the OS and the boot loader, know it best. */
export function usualFileSystem(rules: ModeRules): 'fat12' | 'fat16' | 'fat32' | 'exfat' {
  const order = ['fat32', 'fat16', 'exfat', 'fat12'] as const;
  return order.find((one) => rules['file-systems'].some((allowed) => allowed === one)) ?? 'fat32';
}
