import { join } from 'node:path';
import { expect, it } from 'vitest';
import { ToolError } from '../../../src/core/model/tool-error.ts';
import { toDeviceError, toStickError } from '../../../src/io/volume/os-error.ts';
import { makeScratch } from '../../fixtures/volumes/scratch.ts';

const systemError = (code: string): Error => Object.assign(new Error(`${code}: it failed`), { code });

// What each number means: errno(3), and libuv for Windows (ERROR_WRITE_PROTECT is EROFS there).
it.each([
  ['ENOSPC', 'stick/full'],
  ['EDQUOT', 'stick/full'],
  ['EFBIG', 'stick/full'],
  ['EROFS', 'stick/read-only'],
  ['ENXIO', 'stick/gone'],
  ['ENODEV', 'stick/gone'],
  ['ENOTCONN', 'stick/gone'],
  ['EEXIST', 'stick/name-taken'],
  ['EACCES', 'file/not-permitted'],
  ['EBUSY', 'stick/in-use'],
  ['ENAMETOOLONG', 'stick/refused'],
  ['EIO', 'stick/write-failed'],
  // A number that is in no table speaks neither of wear nor of a bug.
  ['ESOMETHING', 'system/failed'],
  ['UNKNOWN', 'system/failed'],
  ['Unknown system error -4711', 'system/failed'],
  ['EMFILE', 'system/failed'],
  ['ENOMEM', 'system/failed'],
])('%s is %s, with the number in the message and what to do', (errno, code) => {
  const error = toStickError(systemError(errno), 'write', 'a.bin');
  expect(error).toMatchObject({ code, subject: 'a.bin', message: expect.stringContaining(errno) });
  expect(error.todo).toMatch(/\.$/);
  expect(error.cause).toBeInstanceOf(Error);
});

// include/uapi/asm-generic/errno.h: libuv has no names for these.
it.skipIf(process.platform !== 'linux').each([
  ['Unknown system error -123', 'stick/gone', 'ENOMEDIUM'],
  ['Unknown system error -117', 'stick/damaged', 'EUCLEAN'],
  ['Unknown system error -74', 'stick/write-failed', 'EBADMSG'],
])('%s is %s', (said, code, name) => {
  expect(toStickError(systemError(said), 'write', 'a.bin')).toMatchObject({
    code,
    message: expect.stringContaining(name),
  });
});

it('says where each system gives the right to a stick', () => {
  const told = (errno: string, platform: NodeJS.Platform) =>
    toStickError(systemError(errno), 'read', '/dev/rdisk4', platform);
  for (const errno of ['EACCES', 'EPERM'])
    expect(told(errno, 'linux').todo).toMatch(/group disk or root on Linux.*administrator on Windows/s);
  expect(told('EPERM', 'darwin')).toMatchObject({
    code: 'file/not-permitted',
    message: 'macOS does not let this program at it (EPERM)',
    todo: expect.stringMatching(/removable volumes: System Settings, Privacy & Security, Files and Folders/),
  });
  expect(told('EACCES', 'darwin').message).not.toContain('macOS');
});

it('a failed read is not a failed write', () => {
  expect(toStickError(systemError('EIO'), 'read', 'a.bin').code).toBe('stick/read-failed');
});

it('leaves a ToolError as it is, and lets a bug through', () => {
  const known = new ToolError('stick/swapped', 'x', 'y', 'z.');
  expect(toStickError(known, 'write', 'a.bin')).toBe(known);
  const bug = new TypeError('not a function');
  expect(() => toStickError(bug, 'write', 'a.bin')).toThrow(bug);
});

it('an I/O error of a device whose name is gone means that it was pulled', () => {
  const scratch = makeScratch();
  expect(toDeviceError(systemError('EIO'), 'write', join(scratch.path, 'sdz')).code).toBe('stick/gone');
  expect(toDeviceError(systemError('EIO'), 'write', scratch.path).code).toBe('stick/write-failed');
  scratch.undo();
});
