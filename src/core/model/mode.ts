/** The two ways a panel takes a package: from its running OS, or from the service menu's recovery. */
export const modes = ['in-os', 'recovery'] as const;

export type Mode = (typeof modes)[number];

/** What to do with things on the stick that would confuse a panel. */
export const leftoverPolicies = ['stop', 'set-aside', 'remove'] as const;

export type LeftoverPolicy = (typeof leftoverPolicies)[number];
