import { foldName } from '../volume-format/fat-name.ts';
import type { ContentKind } from './content-kinds.ts';

/** How a stick that comes back takes it; what it is then depends on where it lies and what is in it. */
type OnReturn =
  | 'panel-folder'
  | 'media-folder'
  | 'log-folder'
  | 'index-folder'
  | 'windows-folder'
  | 'windows-file'
  | 'index-file'
  | 'bin'
  | 'elsewhere';

interface Leaving {
  readonly names: string;
  readonly pattern?: RegExp;
  /** What it is by its name alone; undefined where the name may be a person's as well. */
  readonly kind: ContentKind | undefined;
  readonly returned: OnReturn;
}

/**
 * What systems leave on a stick, by name, with who says so; what has a space in its name is in quotation marks. A name
 * proves little: nothing that holds bytes of its own is deleted because of its name alone.
 */
const leavings: readonly Leaving[] = [
  // AOSP vold, fs/Vfat.cpp, Mount: LOST.DIR, made empty on every FAT volume; fsck_msdos puts recovered chains in it,
  // named by their first cluster. AOSP vold, VolumeManager.cpp, setupAppDir: `Android/…` for the apps of the panel;
  // `.android_secure` by earlier versions (common practice).
  { names: 'LOST.DIR Android .android_secure', kind: 'panel-mark', returned: 'panel-folder' },
  // AOSP MediaProvider.java, ensureDefaultFolders: made empty, once for each volume. A preparation cannot tell them
  // from a person's.
  {
    names: 'Music Podcasts Ringtones Alarms Notifications Pictures Movies Download DCIM',
    kind: undefined,
    returned: 'media-folder',
  },
  // Folders at the root in which panels put their logs (common practice, no source).
  {
    names: 'log logs logcat recovery tombstones anr pstore bugreports crash dump dumps',
    kind: undefined,
    returned: 'log-folder',
  },
  // Made by desktop systems for themselves, with nothing of a person in it: in `System Volume Information` only what
  // Windows is known to put there on a stick (names as their makers document them; common practice).
  { names: '.fseventsd .Spotlight-V100', kind: 'desk-mark', returned: 'index-folder' },
  { names: '"System Volume Information"', kind: 'desk-mark', returned: 'windows-folder' },
  { names: 'WPSettings.dat IndexerVolumeGuid', kind: 'desk-mark', returned: 'windows-file' },
  { names: 'tracking.log', kind: undefined, returned: 'windows-file' },
  { names: '.DS_Store Thumbs.db desktop.ini', kind: 'desk-mark', returned: 'index-file' },
  { names: '.metadata_never_index', kind: undefined, returned: 'index-file' },
  // What a person threw away or was working on, or what a repair found: somebody's until they say otherwise.
  {
    names: '.Trashes .Trash-0 .Trash-1000 $RECYCLE.BIN RECYCLER lost+found __MACOSX .TemporaryItems',
    pattern: /^\.Trash-\d+$/,
    kind: 'desk-bin',
    returned: 'bin',
  },
  { names: 'FOUND.000', pattern: /^FOUND\.\d{3}$|^FSCK\d{4}\.REC$/i, kind: 'desk-bin', returned: 'bin' },
  { names: '.DocumentRevisions-V100', kind: undefined, returned: 'bin' },
  // A person put it there, or an icon: a panel does not want it, and nobody takes it away unasked.
  { names: 'autorun.inf .VolumeIcon.icns', kind: 'desk-mark', returned: 'elsewhere' },
];

const byName: ReadonlyMap<string, Leaving> = new Map(
  leavings.flatMap((leaving) =>
    [...leaving.names.matchAll(/"([^"]+)"|(\S+)/g)].map(([, quoted, plain]) => [
      foldName(quoted ?? plain ?? ''),
      leaving,
    ]),
  ),
);

/** Which of these something of this name is. */
export function leftBySystem(name: string): Pick<Leaving, 'kind' | 'returned'> {
  const found = byName.get(foldName(name)) ?? leavings.find(({ pattern }) => pattern?.test(name));
  return found ?? { kind: undefined, returned: 'elsewhere' };
}

/**
 * `._name`: what a Mac keeps beside a file of that name on a volume that cannot hold it; it sorts before the real file.
 */
export const isAppleDouble = (name: string): boolean => name.startsWith('._');
