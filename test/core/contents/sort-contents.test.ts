import { describe, expect, it } from 'vitest';
import type { LeftKind } from '../../../src/core/contents/content-kinds.ts';
import { isLogName, sortContents } from '../../../src/core/contents/sort-contents.ts';
import { parentOf } from '../../../src/core/manifest/stick-names.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import type { StickEntry } from '../../../src/core/model/stick-facts.ts';

/** Only what sorting reads of a manifest. */
const manifest = {
  files: ['sedge_boot.pkg', 'images/system.img', 'images/deep/touch.img'].map((path) => ({
    path,
    bytes: 10,
    sha256: '0'.repeat(64),
  })),
  folders: ['images', 'images/deep', 'empty'],
  untouched: [
    { path: 'letters', bytes: 5 },
    { path: 'old.log', bytes: 5 },
    { path: '.Trash-1001', bytes: 5 },
    { path: 'set-aside-20250101T000000Z', bytes: 5 },
  ],
  setAside: ['x.zip', 'film/y.zip'].map((path) => ({ path, to: `set-aside-20261102T073000Z/${path}` })),
} as unknown as Manifest;

/** Sorts one file, with the folders that lead to it; a path that ends with `/` is an empty folder. */
function kindOf(path: string, bytes = 10): LeftKind | undefined {
  const plain = path.replace(/\/$/, '');
  const entries: StickEntry[] = [];
  for (let parent = parentOf(plain); parent !== ''; parent = parentOf(parent))
    entries.unshift({ path: parent, kind: 'folder', bytes: 0 });
  entries.push({ path: plain, kind: path.endsWith('/') ? 'folder' : 'file', bytes: path.endsWith('/') ? 0 : bytes });
  return sortContents(entries, manifest, 'stickwright').at(-1)?.what;
}

// AOSP vold Vfat.cpp and VolumeManager.cpp, MediaProvider.java ensureDefaultFolders, recovery, fsck_msdos dir.c: read
// for these names; dosfstools, Windows and macOS: common practice.
const table: readonly (readonly [path: string, what: LeftKind, bytes?: number])[] = [
  ['sedge_boot.pkg', 'firmware'],
  ['images/deep/touch.img', 'firmware'],
  ['images/', 'firmware'],
  ['empty/', 'firmware'],
  ['SEDGE_BOOT.PKG', 'unexplained'],
  ['stickwright/manifest.json', 'record'],
  ['stickwright/MANIFEST.OLD', 'record'],
  ['stickwright/', 'record'],
  ['stickwright/diary.txt', 'unexplained'],
  ['LOST.DIR/', 'panel-mark'],
  ['LOST.DIR/1234', 'panel-file'],
  ['LOST.DIR/1234', 'panel-mark', 0],
  ['LOST.DIR', 'unexplained'],
  ['Android/data/com.example/cache/', 'panel-mark'],
  ['Android/data/.nomedia', 'panel-mark', 0],
  ['Android/data/com.example/files/board.svg', 'panel-file'],
  ['.android_secure/', 'panel-mark'],
  ['Music/', 'panel-mark'],
  ['Ringtones/', 'panel-mark'],
  ['Music/song.mp3', 'unexplained'],
  ['DCIM/Camera/1.jpg', 'unexplained'],
  ['DCIM', 'unexplained'],
  ['DCIM', 'unexplained', 0],
  ['last_log', 'panel-log'],
  ['last_log.3', 'panel-log'],
  ['update.log', 'panel-log'],
  ['logs/2026/boot.txt', 'panel-log'],
  ['logs/', 'panel-mark'],
  ['images/flash.log', 'panel-log'],
  ['photos/trip.log', 'unexplained'],
  ['console-ramoops-0', 'panel-log'],
  ['bugreport-sedge-2026-11-25.zip', 'panel-log'],
  ['update_status.xml', 'panel-log'],
  ['System Volume Information/', 'desk-mark'],
  ['System Volume Information/WPSettings.dat', 'desk-mark'],
  ['System Volume Information/diary.txt', 'unexplained'],
  ['.DS_Store', 'desk-mark'],
  ['images/Thumbs.db', 'desk-mark'],
  ['.fseventsd/0000', 'desk-mark'],
  ['.Trashes/501/letter.txt', 'desk-bin'],
  ['.Trashes/501/.DS_Store', 'desk-mark'],
  ['.Trash-1000/files/a.txt', 'desk-bin'],
  ['$RECYCLE.BIN/S-1/desktop.ini', 'desk-mark'],
  ['$RECYCLE.BIN/S-1/$R1.doc', 'desk-bin'],
  ['FOUND.000/FILE0000.CHK', 'desk-bin'],
  ['FSCK0000.REC', 'desk-bin'],
  ['._sedge_boot.pkg', 'twin'],
  ['images/._system.img', 'twin'],
  ['._letter.doc', 'unexplained'],
  ['letters/', 'stayed'],
  ['letters/mine.txt', 'stayed'],
  ['.Trash-1001/files/a.txt', 'stayed'],
  ['old.log', 'stayed'],
  ['set-aside-20261102T073000Z/', 'stayed'],
  ['set-aside-20261102T073000Z/x.zip', 'stayed'],
  ['set-aside-20261102T073000Z/film/', 'stayed'],
  ['set-aside-20261102T073000Z/more/', 'unexplained'],
  ['set-aside-20261102T073000Z/added.zip', 'unexplained'],
  ['set-aside-20250101T000000Z/y.zip', 'stayed'],
  ['set-aside-20240101T000000Z/y.zip', 'unexplained'],
  ['holiday.jpg', 'unexplained'],
  ['autorun.inf', 'unexplained'],
  ['images/holiday.jpg', 'unexplained'],
  ['images/more/holiday.jpg', 'unexplained'],
  ['other.zip', 'unexplained'],
];

describe('what lies on a returned stick', () => {
  for (const [path, what, bytes] of table)
    it(`${path}${bytes === 0 ? ' (nothing in it)' : ''} is ${what}`, () => expect(kindOf(path, bytes)).toBe(what));

  it('is told apart by whether it came after the preparation', () => {
    const sorted = sortContents(
      [
        { path: 'letters', kind: 'folder', bytes: 0 },
        { path: 'LOST.DIR', kind: 'folder', bytes: 0 },
      ],
      { ...manifest, untouched: [...manifest.untouched, { path: 'LOST.DIR', bytes: 0 }] },
      'stickwright',
    );
    expect(sorted.map(({ what, isNew }) => [what, isNew])).toEqual([
      ['stayed', false],
      ['panel-mark', false],
    ]);
  });

  it('takes no ordinary name for a log', () => {
    for (const name of [
      'catalogue.pdf',
      'blog.txt',
      'dialog.png',
      'update.zip',
      'install.exe',
      'core.zip',
      'report.docx',
    ])
      expect(isLogName(name), name).toBe(false);
  });
});
