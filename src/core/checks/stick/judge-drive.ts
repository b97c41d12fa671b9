import { type Finding, finding, inOrder, severityOf } from '../../findings/finding.ts';
import { customaryRules } from '../../model/customary-rules.ts';
import type { Drive, MountedVolume } from '../../model/drive.ts';
import type { Family, ModeRules } from '../../model/family.ts';
import { type Mode, modes } from '../../model/mode.ts';
import type { StickFacts } from '../../model/stick-facts.ts';
import { readByteSize } from '../../text/byte-size.ts';
import { checkCondition, checkFormat, checkSize } from './check-format.ts';

/** Whether a drive would do for a mode, by the rules of one family or by the customary ones. */
export interface ModeAnswer {
  readonly mode: Mode;
  /** Undefined where the customary rules judged. */
  readonly family: string | undefined;
  /** `unknown`: nothing speaks against it, but something that matters was not told. */
  readonly answer: 'yes' | 'no' | 'unknown';
  /** The volume that was judged; undefined where there is none. */
  readonly volume: string | undefined;
  /** The one that matters most: why not, what is not known, or what to mind about a drive that would do. */
  readonly reason: Finding | undefined;
}

export interface JudgedDrive extends Drive {
  readonly modes: readonly ModeAnswer[];
}

/**
 * Whether DRIVE would do, for each mode and each of FAMILIES that is updated in that mode; by the customary rules where
 * no family is given. What lies on it is not looked at: `prepare` does that.
 */
export function judgeDrive(drive: Drive, families: readonly Family[]): readonly ModeAnswer[] {
  return modes.flatMap((mode) => {
    if (families.length === 0) return [judge(drive, mode, customaryRules(mode), undefined)];
    return families.flatMap(({ family, modes: offered }) => {
      const rules = offered[mode];
      return rules === undefined ? [] : [judge(drive, mode, rules, family)];
    });
  });
}

/** Of several volumes the first speaks for all: that there are several stops it, whatever each of them is. */
function judge(drive: Drive, mode: Mode, rules: ModeRules, family: string | undefined): ModeAnswer {
  const [volume] = drive.volumes;
  const [reason] = inOrder(check(drive, volume, mode, rules));
  return { mode, family, answer: answerOf(reason, drive), volume: volume?.device, reason };
}

/** What formatting cannot mend comes first, so that nobody erases a stick in vain. */
function check(drive: Drive, volume: MountedVolume | undefined, mode: Mode, rules: ModeRules): readonly Finding[] {
  const { device, refusedBecause } = drive;
  if (refusedBecause !== undefined) return [finding('drive/refused', device, { because: refusedBecause })];
  const stick = toStick(drive, volume);
  const limit = rules['largest-stick'];
  const isSizeOpen = limit !== undefined && drive.bytes === undefined;
  return [
    ...checkSize(stick, mode, rules),
    ...(isSizeOpen ? [finding('drive/size-unknown', device, { largest: readByteSize(limit) })] : []),
    ...checkCondition(stick, false),
    ...(volume === undefined ? [finding('drive/no-volume-seen', device)] : checkFormat(stick, mode, rules)),
  ];
}

/** Cautions let a drive do, but for one that only says that something was not seen. */
function answerOf(reason: Finding | undefined, drive: Drive): ModeAnswer['answer'] {
  if (reason?.code === 'drive/refused') return isOpen(drive) ? 'unknown' : 'no';
  if (reason?.code === 'stick/partition-table-unknown') return 'unknown';
  const severity = reason === undefined ? 'note' : severityOf(reason);
  return severity === 'stop' ? 'no' : severity === 'unproven' ? 'unknown' : 'yes';
}

/** Refused only because nobody says whether it may be pulled. A bus that is not known is not USB. */
const isOpen = ({ holdsSystem, holds = [], usb, removable }: Drive): boolean =>
  !holdsSystem && holds.length === 0 && usb === true && removable === undefined;

/**
 * As far as the checks ask. Where nobody tells whether a drive is read-only it counts as writable: a lock shows at the
 * first write and harms nothing.
 */
function toStick(drive: Drive, volume: MountedVolume | undefined): StickFacts {
  return {
    target: volume?.device ?? drive.device,
    kind: 'device',
    fileSystem: volume?.fileSystem ?? 'unknown',
    fileSystemFrom: 'operating-system',
    partitionTable: drive.partitionTable,
    partitions: [], // nobody lists those without a volume, and the others are named below
    otherVolumes: {
      from: 'operating-system',
      volumes: drive.volumes
        .filter((other) => other !== volume)
        .map(({ device, fileSystem, bytes }) => ({ where: 'listed', number: device, fileSystem, bytes })),
    },
    mediumBytes: drive.bytes,
    volumeBytes: volume?.bytes ?? 0,
    freeBytes: 0, // what would fit is not asked here
    clusterBytes: volume?.clusterBytes,
    sectorBytes: volume?.sectorBytes,
    rootSlotsFree: undefined,
    volumeLabel: volume?.label,
    volumeSerial: undefined,
    readOnly: drive.readOnly === true || volume?.readOnly === true,
    dirty: undefined,
    drive,
  };
}
