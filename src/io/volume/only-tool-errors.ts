import { isGone } from './is-gone.ts';
import { errnoOf, stickGone, toDeviceError } from './os-error.ts';
import type { FileParts, Volume, VolumeReader, VolumeWriter } from './volume.ts';

/** The error as the stick at PATH has it: what a system call said is a ToolError, and a bug stays what it is. */
export function ofStick(error: unknown, path: string, target: string): unknown {
  const errno = errnoOf(error);
  if (errno === undefined) return error;
  return errno === 'ENOENT' && isGone(path) ? stickGone(target) : toDeviceError(error, 'read', target);
}

/**
 * The same volume, out of which nothing comes that a system call said in its own words: each way has its own explanation, and this
 * is the net below all of them. `closed` is called when it is closed, also where closing fails.
 */
export function onlyToolErrors(
  volume: Volume,
  explain: (error: unknown) => unknown,
  closed: () => void | Promise<void>,
): Volume {
  const guard = async <Answer>(work: () => Promise<Answer>): Promise<Answer> => {
    try {
      return await work();
    } catch (error) {
      throw explain(error);
    }
  };
  const reader = (inner: VolumeReader): VolumeReader => ({
    readBack: inner.readBack,
    async *chunks() {
      try {
        yield* inner.chunks();
      } catch (error) {
        throw explain(error);
      }
    },
  });
  const parts = (inner: FileParts): FileParts => ({
    read: (buffer, offset, length, position) => guard(() => inner.read(buffer, offset, length, position)),
    close: () => guard(() => inner.close()),
  });
  const writer = (inner: VolumeWriter): VolumeWriter => ({
    write: (chunk) => guard(() => inner.write(chunk)),
    close: () => guard(() => inner.close()),
  });
  return {
    facts: volume.facts,
    changesAtOnce: volume.changesAtOnce,
    entries: (within) => guard(() => volume.entries(within)),
    freeBytes: () => guard(() => volume.freeBytes()),
    makeFolder: (path) => guard(() => volume.makeFolder(path)),
    create: (path, bytes) => guard(async () => writer(await volume.create(path, bytes))),
    open: (path, how) => guard(async () => reader(await volume.open(path, how))),
    places: (paths) => guard(() => volume.places(paths)),
    openParts: (path) => guard(async () => parts(await volume.openParts(path))),
    rename: (from, to) => guard(() => volume.rename(from, to)),
    removeFile: (path) => guard(() => volume.removeFile(path)),
    removeFolder: (path) => guard(() => volume.removeFolder(path)),
    flush: () => guard(() => volume.flush()),
    settle: () => guard(() => volume.settle()),
    close: () => guard(() => volume.close()).finally(closed),
  };
}
