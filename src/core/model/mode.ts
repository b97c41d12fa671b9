/** The two ways a panel takes a package: from its running OS, or from the service menu's recovery. */
export const modes = ['in-os', 'recovery'] as const;

export type Mode = (typeof modes)[number];

export interface ModeTraits {
  /** As people write it. */
  readonly inWords: string;
  /**
   * The stick is read by a boot loader or a small recovery system, with a FAT driver of its own; else by the running
   * OS.
   */
  readonly isReadAtBoot: boolean;
  /** The archive's own tree lies at the root of the stick; else the archive lies there whole. */
  readonly isExtracted: boolean;
  /** Nobody does it unasked, and nothing is left to try where it fails. */
  readonly isLastResort: boolean;
}

/**
 * What is so in a mode for every maker. Who needs to know asks here, so that another mode is a build error and not a
 * wrong guess.
 */
export const modeTraits: Readonly<Record<Mode, ModeTraits>> = {
  'in-os': { inWords: 'in-OS', isReadAtBoot: false, isExtracted: false, isLastResort: false },
  recovery: { inWords: 'recovery', isReadAtBoot: true, isExtracted: true, isLastResort: true },
};

/** What to do with things on the stick that would confuse a panel. */
export const leftoverPolicies = ['stop', 'set-aside', 'remove'] as const;

export type LeftoverPolicy = (typeof leftoverPolicies)[number];
