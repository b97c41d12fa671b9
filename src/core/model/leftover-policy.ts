/** What to do with things on the stick that would confuse a panel. */
export const leftoverPolicies = ['stop', 'set-aside', 'remove'] as const;

export type LeftoverPolicy = (typeof leftoverPolicies)[number];
