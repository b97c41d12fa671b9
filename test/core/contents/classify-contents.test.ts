import { describe, expect, it } from 'vitest';
import { type Classifying, classifyContents } from '../../../src/core/contents/classify-contents.ts';
import { confusesPanel } from '../../../src/core/contents/content-kinds.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import type { StickEntry } from '../../../src/core/model/stick-facts.ts';

const wanted = {
  files: [
    { path: 'images/system.img', bytes: 4, origin: { from: 'entry', name: 'images/system.img', crc32: 1 } as const },
  ],
  folders: ['images'],
};

function classify(paths: readonly string[], more: Partial<Classifying> = {}): Readonly<Record<string, string>> {
  const entries = paths.map((path): StickEntry => {
    const kind = path.endsWith('/') ? 'folder' : 'file';
    return { path: path.replace(/\/$/, ''), kind, bytes: kind === 'file' ? 4 : 0 };
  });
  const input: Classifying = {
    entries,
    wanted,
    manifest: undefined,
    sameJob: false,
    kept: new Map(),
    isPackageName: (name) => name === 'reed.1717_5B_second_K2.zip',
    isRecoveryFile: (path) => path.endsWith('sedge_boot.pkg'),
    isRecoveryTree: () => false,
    glances: new Map(),
    ...more,
  };
  return Object.fromEntries(classifyContents(input).map(({ path, kind }) => [path, kind]));
}

describe('what lies on a stick', () => {
  it('is sorted by what it is to a panel', () => {
    const kinds = {
      'reed.1717_5B_second_K2.zip': 'other-firmware',
      'update.BIN': 'other-firmware',
      'sedge_boot.pkg': 'other-firmware',
      'download.zip.crdownload': 'other-firmware',
      '._sedge_boot.pkg': 'twin',
      '.DS_Store': 'desk-mark',
      'system volume information/': 'desk-mark',
      'FOUND.000/': 'desk-bin',
      'LOST.DIR/': 'panel-mark',
      'Android/': 'panel-mark',
      'set-aside-20261102T073000Z/': 'set-aside',
      'set-aside-by-hand/': 'stayed',
      'holiday.jpg': 'stayed',
      'stickwright/': 'record',
      'SW-PART.TMP/': 'record',
    };
    const expected = Object.fromEntries(Object.entries(kinds).map(([path, kind]) => [path.replace(/\/$/, ''), kind]));
    expect(classify(Object.keys(kinds))).toEqual(expected);
  });

  it('goes by the place as much as by the name', () => {
    const earlier = { files: ['old.dat', 'images/old.txt', 'images/system.img'].map((path) => ({ path })) };
    const manifest = earlier as unknown as Manifest;
    const image = { name: 'photo.dat', names: [], inner: [], image: 'an Android image', whole: true };
    const aside = 'set-aside-20261102T073000Z';
    expect(classify(['old.dat', 'images/', 'images/old.txt'], { manifest })).toEqual({
      ...{ 'old.dat': 'earlier-preparation', images: 'firmware', 'images/old.txt': 'extra' },
    });
    expect(classify(['old.dat'], { manifest, sameJob: true })).toEqual({ 'old.dat': 'stayed' });
    expect(classify(['photo.dat'], { glances: new Map([['photo.dat', image]]) })).toEqual({
      'photo.dat': 'other-firmware',
    });
    // Put away by the tool itself, under a name that nobody takes for firmware.
    const away = `${aside}/photo.dat.set-aside`;
    expect(classify([`${aside}/`, away], { glances: new Map([[away, image]]) })).toEqual({ [aside]: 'set-aside' });
    expect(classify([aside])).toEqual({ [aside]: 'stayed' });
    // A folder is no package, whatever it is called.
    const name = 'reed.1717_5B_second_K2.zip';
    expect(classify([`${name}/`, 'letters/', `letters/${name}/`])).toEqual({ [name]: 'stayed', letters: 'stayed' });
    expect(classify(['copy/', 'copy/sedge_boot.pkg/'])).toEqual({ copy: 'stayed' });
    expect(classify(['stickwright/', 'stickwright/manifest.json/'])).toMatchObject({
      'stickwright/manifest.json': 'extra',
    });
    expect(classify(['images/', `images/${name}`, 'images/.DS_Store', 'images/LOST.DIR/'])).toEqual({
      ...{ images: 'firmware', [`images/${name}`]: 'extra' },
      ...{ 'images/.DS_Store': 'desk-mark', 'images/LOST.DIR': 'extra' },
    });
    const wrong = ['images/', 'images/system.img'];
    expect(classify(wrong, { manifest, sameJob: true })['images/system.img']).toBe('damaged');
    expect(classify(wrong, { manifest })['images/system.img']).toBe('same-name');
    expect(classify(wrong, { sameJob: true })['images/system.img']).toBe('same-name');
  });

  it('knows a folder that somebody unpacked a package into', () => {
    expect(classify(['reed.1717_5B_second_K2/', 'reed.1717_5B_second_K2/a.txt'])).toEqual({
      'reed.1717_5B_second_K2': 'other-firmware',
    });
    expect(classify(['copy/', 'copy/sedge_boot.pkg'])).toEqual({ copy: 'other-firmware' });
  });

  it('looks into the firmware’s own folders and nowhere else', () => {
    expect(classify(['images/', 'images/old.img', 'letters/', 'letters/old.img'])).toEqual({
      images: 'firmware',
      'images/old.img': 'extra',
      letters: 'stayed',
    });
  });

  it('tells right content under a needed name from wrong content, and case twins from the name itself', () => {
    const kept = new Map([['images/system.img', { stickPath: 'images/system.img', staged: false }]]);
    expect(classify(['images/', 'images/system.img'], { kept })['images/system.img']).toBe('firmware');
    expect(classify(['images/', 'images/system.img'])['images/system.img']).toBe('same-name');
    expect(classify(['IMAGES/'])).toEqual({ IMAGES: 'same-name' });
    expect(classify(['images'])).toEqual({ images: 'same-name' });
  });

  it('knows decomposed and composed letters as two names, as FAT does: the other one is other firmware', () => {
    const accented = {
      files: [{ ...wanted.files[0], path: 'caf\u00e9.img' } as (typeof wanted.files)[0]],
      folders: [],
    };
    expect(classify(['cafe\u0301.img'], { wanted: accented })).toEqual({ 'cafe\u0301.img': 'other-firmware' });
    expect(classify(['CAF\u00c9.IMG'], { wanted: accented })).toEqual({ 'CAF\u00c9.IMG': 'same-name' });
  });

  it('takes for the tool’s own only what has exactly its spelling', () => {
    for (const folder of ['Stickwright', 'STICKWRIGHT', 'sw-part.tmp', 'Sw-Done.tmp']) {
      expect(classify([`${folder}/`, `${folder}/manifest.json`])).toEqual({ [folder]: 'same-name' });
    }
    expect(classify(['stickwright/', 'stickwright/Manifest.json'])).toEqual({
      stickwright: 'record',
      'stickwright/Manifest.json': 'extra',
    });
    expect(classify(['\u017ftickwright/', 'Set-Aside-20261102T073000Z/'])).toEqual({
      '\u017ftickwright': 'stayed',
      'Set-Aside-20261102T073000Z': 'stayed',
    });
  });

  it('does not look into a folder whose spelling is another one: it is somebody’s as a whole', () => {
    expect(classify(['images/', 'IMAGES/', 'IMAGES/system.img'])).toEqual({ images: 'firmware', IMAGES: 'same-name' });
  });
});

describe('what confuses a panel', () => {
  it('is firmware in any form; personal things only bother a panel that wants the root to itself', () => {
    for (const kind of ['other-firmware', 'earlier-preparation', 'extra', 'twin', 'same-name'] as const) {
      expect(confusesPanel(kind, false)).toBe(true);
    }
    for (const kind of ['stayed', 'desk-mark', 'desk-bin', 'panel-mark', 'set-aside'] as const) {
      expect([confusesPanel(kind, false), confusesPanel(kind, true)]).toEqual([false, true]);
    }
    for (const kind of ['record', 'firmware', 'damaged'] as const) expect(confusesPanel(kind, true)).toBe(false);
  });
});
