import type { Drive } from '../../core/model/drive.ts';

export type { Drive, MountedVolume } from '../../core/model/drive.ts';

/**
 * Everything that is plugged in, sticks first; a drive that holds one of ALSO is refused too. Throws ToolError
 * `drives/unavailable`.
 */
export type ListDrives = (also?: readonly string[]) => Promise<readonly Drive[]>;
