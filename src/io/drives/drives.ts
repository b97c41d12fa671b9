import type { Drive } from '../../core/model/drive.ts';

export type { Drive, MountedVolume } from '../../core/model/drive.ts';

/** Everything that is plugged in, sticks first. Throws ToolError `drives/unavailable`. */
export type ListDrives = () => Promise<readonly Drive[]>;
