import { expect, it } from 'vitest';
import { fatNameProblem, folderClustersFor, slotsFor } from '../../../src/core/volume-format/fat-name.ts';

it('takes the names that FAT can hold', () => {
  for (const name of [
    'a',
    'UPDATE.ZIP',
    '.hidden',
    ' lead',
    'a.b.c',
    '固件.zip',
    '\u{1f5a5}',
    'COM',
    'com10',
    'nullable',
    'x'.repeat(255),
  ]) {
    expect(fatNameProblem(name), name).toBeUndefined();
  }
});

// Microsoft, "Naming Files, Paths, and Namespaces".
it('says why others cannot be held', () => {
  const problems = {
    '': 'a name is empty',
    '..': 'it is not a name but a direction',
    'a:b': 'it contains :',
    'a\u0007': 'it contains the control character 7',
    'end.': 'it ends with a period',
    'end ': 'it ends with a space',
    'aux.txt': 'it is a device name of Windows',
    Lpt1: 'it is a device name of Windows',
    'com\u00b9.x': 'it is a device name of Windows',
    '\udc00': 'it contains half a character',
    [`${'x'.repeat(255)}y`]: 'it is 256 characters long; 255 fit',
  };
  for (const [name, problem] of Object.entries(problems)) expect(fatNameProblem(name), name).toBe(problem);
});

// Linux Documentation/filesystems/vfat.rst: 13 units a slot, plus the short one.
it('counts the slots of a name', () => {
  const slots = { 'UPDATE.ZIP': 1, FIRMWARE: 1, 'update.zip': 2, thirteen12345: 2, fourteen123456: 3, 'TOO.MANY': 2 };
  for (const [name, count] of Object.entries(slots)) expect(slotsFor(name), name).toBe(count);
  expect(slotsFor('x'.repeat(255))).toBe(21);
});

it('counts the clusters of a folder', () => {
  expect(folderClustersFor([], 512)).toBe(1);
  const fourteen = Array.from({ length: 14 }, (_, index) => `A${index}`);
  expect(folderClustersFor(fourteen, 512)).toBe(1);
  expect(folderClustersFor([...fourteen, 'B'], 512)).toBe(2);
});
