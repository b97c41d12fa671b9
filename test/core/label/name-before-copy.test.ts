import { expect, it } from 'vitest';
import { nameBeforeCopy } from '../../../src/core/label/name-before-copy.ts';

// What browsers and file managers add to a second copy: common practice, no source.
it.each([
  ['reed.746_5B (1).zip', '(1)', 'reed.746_5B.zip'],
  ['reed.746_5B(12).ZIP', '(12)', 'reed.746_5B.ZIP'],
  ['reed.746_5B - Copy.zip', '- Copy', 'reed.746_5B.zip'],
  ['reed.746_5B - Copy (2).zip', '- Copy (2)', 'reed.746_5B.zip'],
  ['reed.746_5B - Copy(12).zip', '- Copy(12)', 'reed.746_5B.zip'],
  ['reed.746_5B - second copy.zip', '- second copy', 'reed.746_5B.zip'],
  ['reed.746_5B copy.zip', 'copy', 'reed.746_5B.zip'],
  ['reed.746_5B copy 12.zip', 'copy 12', 'reed.746_5B.zip'],
  ['reed.746_5B.zip.zip', '.zip', 'reed.746_5B.zip'],
  ['reed.746_5B.zip.txt', '.txt', 'reed.746_5B.zip'],
  ['reed.746_5B.zip.htm', '.htm', 'reed.746_5B.zip'],
  ['reed.746_5B.zip.html', '.html', 'reed.746_5B.zip'],
  ['reed.746_5B.ZIP.bin', '.bin', 'reed.746_5B.ZIP'],
  ['reed.746_5B.zip.download', '.download', 'reed.746_5B.zip'],
])('%s has the mark of a copy, %s', (fileName, mark, original) => {
  expect(nameBeforeCopy(fileName)).toEqual({ mark, original });
});

it.each([
  'reed.746_5B.zip',
  'reed.746_5B (first).zip',
  'reed.746_5B (1).zip.old',
  'reed.746_5B - Copy.zip.old',
  'reed.746_5B - Copy (x).zip',
  'reed.746_5B - xcopy.zip',
  'reed.746_5B - v1.2 copies.zip',
  'reed.746_5B copy.zip.old',
  'reed.746_5B copy x.zip',
  'reed.746_5Bcopy.zip',
  'reed.746_5B.zip.zip.old',
  'reed.746_5B.zip.txt.old',
  'reed.746_5B.txt',
  'reed.746_5B (1)._',
  'reed.746_5B - Copy._',
  'reed.746_5B copy._',
  '(1).zip',
])('%s has none', (fileName) => {
  expect(nameBeforeCopy(fileName)).toBeUndefined();
});
