/** The two ways a panel takes a package: from its running OS, or from the service menu's recovery. */
export const modes = ['in-os', 'recovery'] as const;

export type Mode = (typeof modes)[number];
