export type FileSystem =
  | 'fat12'
  | 'fat16'
  | 'fat32'
  | 'exfat'
  | 'ntfs'
  | 'ext'
  | 'hfs+'
  | 'apfs'
  | 'iso9660'
  | 'luks'
  | 'bitlocker'
  | 'other'
  | 'unknown';

/** What TARGET turned out to be: a mounted folder, a file that holds a volume, or a block device. */
export type TargetKind = 'folder' | 'image' | 'device';

export type PartitionTable = 'none' | 'mbr' | 'gpt' | 'unknown';

export interface Partition {
  /** Position in the table, from 1. */
  readonly number: number;
  /** MBR type byte, or undefined for a GPT entry. */
  readonly type: number | undefined;
  readonly startByte: number;
  readonly bytes: number;
  readonly bootable: boolean;
}

/** What is plugged in behind a target, as far as the operating system tells. */
export interface DriveFacts {
  /** Device path or number as the OS names it. */
  readonly device: string;
  readonly maker: string | undefined;
  readonly model: string | undefined;
  readonly serial: string | undefined;
  readonly bytes: number | undefined;
  readonly removable: boolean | undefined;
  readonly usb: boolean | undefined;
  /** It holds the running system or the home folder. */
  readonly holdsSystem: boolean;
  readonly readOnly: boolean | undefined;
}

/** A volume beside the one that is looked at. */
export interface OtherVolume {
  /**
   * Who leads there: `start` is the medium read without its table, `old-gpt` a second table that few readers go by,
   * `same-place` another file system's mark inside the same volume, `listed` the operating system's list.
   */
  readonly where: 'start' | 'partition' | 'logical-drive' | 'gpt-partition' | 'old-gpt' | 'same-place' | 'listed';
  /** Its number in that table, or the operating system's name for it. */
  readonly number: number | string | undefined;
  readonly fileSystem: FileSystem;
  readonly bytes: number | undefined;
}

/** Everything else on the medium that some reader could mount. */
export interface OtherVolumes {
  /** The medium's own sectors, or what the operating system lists where they may not be read. */
  readonly from: 'sectors' | 'operating-system';
  readonly volumes: readonly OtherVolume[];
}

/** What is known of a stick's volume before anything is written. `undefined` means that nobody tells. */
export interface StickFacts {
  /** As the person gave it. */
  readonly target: string;
  readonly kind: TargetKind;
  readonly fileSystem: FileSystem;
  /** Who said so: the volume's own boot sector, or the operating system. */
  readonly fileSystemFrom: 'boot-sector' | 'operating-system';
  readonly partitionTable: PartitionTable;
  /** Partitions in table order; empty without a table or where the table cannot be read. */
  readonly partitions: readonly Partition[];
  /** Undefined where nobody tells. */
  readonly otherVolumes: OtherVolumes | undefined;
  /** The whole medium (drive or image file), not the volume. */
  readonly mediumBytes: number | undefined;
  readonly volumeBytes: number;
  readonly freeBytes: number;
  readonly clusterBytes: number | undefined;
  readonly sectorBytes: number | undefined;
  /** Free slots in a fixed FAT12/FAT16 root folder; undefined where the root can grow. */
  readonly rootSlotsFree: number | undefined;
  readonly volumeLabel: string | undefined;
  /** Volume serial as eight hex digits, `1234-ABCD`. */
  readonly volumeSerial: string | undefined;
  readonly readOnly: boolean;
  /** The volume says it was not unmounted cleanly. */
  readonly dirty: boolean | undefined;
  /** Of a folder: where its volume is mounted; undefined where the system does not tell. */
  readonly mountPoint?: string | undefined;
  /** The drive behind it; undefined for an image file. */
  readonly drive: DriveFacts | undefined;
  /** Why nothing is known of the drive, where the list of drives failed or did not come in time. */
  readonly driveUnlisted?: string | undefined;
}

/** A file or folder on a stick. */
export interface StickEntry {
  /** `/` between parts, no leading slash, as the volume spells it. */
  readonly path: string;
  readonly kind: 'file' | 'folder';
  /** 0 for a folder. */
  readonly bytes: number;
  /** Something else is mounted there: it hides what the stick has under that name, and nothing of it was looked at. */
  readonly isMount?: true;
  /**
   * It is no file and no folder that could be looked into: a symbolic link, a pipe or the like, or a name that is no
   * UTF-8 text and by which nothing can be opened.
   */
  readonly odd?: 'link' | 'special' | 'name';
  /** Of a file that was being written or removed when it was cut off: what it holds beyond its length, or lacks. */
  readonly heldBytes?: number;
  /** Of a file on a mounted volume that may be FAT or exFAT: when it was made and last written; a move leaves both. */
  readonly stamp?: string;
}

/** A link under a file's name is not that file, nor is something of elsewhere that is mounted there. */
export const isPlainFile = ({ kind, odd, isMount }: StickEntry): boolean =>
  kind === 'file' && odd === undefined && isMount !== true;

/** What a look into a file showed: its first bytes, and of a zip archive what it lists. Nothing of it is proven. */
export interface FileGlance {
  /** What the first bytes are, in the words of a person, where they are those of something that panels install. */
  readonly image: string | undefined;
  /** Paths that an archive lists; empty where the file is none. */
  readonly names: readonly string[];
  /** What archives and images lie in it. */
  readonly inner: readonly InnerGlance[];
  /** false: it could not be looked into as far as was wished. */
  readonly whole: boolean;
}

export interface InnerGlance extends FileGlance {
  readonly name: string;
}
