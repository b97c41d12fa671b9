import { expect, it, test } from 'vitest';
import { findHalfMoved } from '../../../src/core/contents/half-moved.ts';
import type { StickEntry } from '../../../src/core/model/stick-facts.ts';

const aside = 'set-aside-20261102T073000Z';
const file = (path: string, more: Partial<StickEntry> = {}): StickEntry => ({
  ...{ path, kind: 'file', bytes: 9, stamp: '1' },
  ...more,
});

test.each([
  ['images/a.img', 'SW-PART.TMP/images/a.img'],
  ['SW-PART.TMP/boot.pkg', 'boot.pkg'],
  ['me.jpg', `${aside}/me.jpg`],
  ['old.zip', `${aside}/old.zip.set-aside`],
  ['letters/old.zip', `${aside}/letters/old.zip.set-aside`],
  ['SW-DONE.TMP/seal.json', 'stickwright/seal.json'],
  ['SW-DONE.TMP/MANIFEST.NEW', 'stickwright/manifest.json'],
  ['stickwright/manifest.json', 'stickwright/MANIFEST.OLD'],
])('%s and %s are one file in the middle of its way', { tags: ['nobodys-files-vanish'] }, (first, second) => {
  expect(findHalfMoved([file(first), file('other'), file(second)])).toEqual([{ first, second }]);
});

test.each([
  ['letters/a.txt', 'photos/a.txt'],
  ['a.txt', 'letters/a.txt'],
  ['SW-PART.TMP/a.img', 'SW-PART.TMP/images/a.img'],
  ['images/a.img', 'stickwright/a.img'],
  ['seal.json', 'stickwright/seal.json'],
  ['SW-DONE.TMP/a.img', 'a.img'],
  ['MANIFEST.OLD', 'stickwright/MANIFEST.OLD'],
  ['stickwright/MANIFEST.OLD', 'stickwright/checksums.sha256'],
  ['old.zip', 'letters/old.zip.set-aside'],
])('%s and %s are two files', (first, second) => {
  expect(findHalfMoved([file(first), file(second)])).toEqual([]);
});

it('only a file with bytes and times can be, and only where both are the same', () => {
  const [from, to] = ['SW-PART.TMP/a.img', 'a.img'];
  const { stamp: _, ...unstamped } = file(from);
  const others: readonly StickEntry[] = [
    file(from, { bytes: 8 }),
    file(from, { stamp: '2' }),
    file(from, { kind: 'folder' }),
    unstamped,
  ];
  for (const other of others) expect(findHalfMoved([other, file(to)])).toEqual([]);
  expect(findHalfMoved([file(from, { bytes: 0 }), file(to, { bytes: 0 })])).toEqual([]);
  const { stamp: __, ...bare } = file(to);
  expect(findHalfMoved([unstamped, bare])).toEqual([]);
});
