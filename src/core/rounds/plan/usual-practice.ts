import { customaryRules } from '../../model/customary-rules.ts';
import type { Family, ModeRules } from '../../model/family.ts';
import type { Manifest } from '../../model/manifest.ts';
import type { Mode } from '../../model/mode.ts';
import type { Load } from '../../model/round.ts';

/** What to do at a panel, as a load carries it to its cards. */
export type PanelAdvice = Load['panel'];

/**
 * What a family file says for MODE, and what is usual in the trade where it says nothing. Waits are never made up:
 * without the maker's figure `minutes` is null.
 */
export function panelAdvice(rules: ModeRules, mode: Mode): PanelAdvice {
  const usual = usualPractice[mode];
  return {
    port: rules.port,
    minutes: rules.minutes ?? null,
    steps: rules.steps.length > 0 ? rules.steps : [...usual.steps],
    cautions: [...(rules.cautions ?? [])],
    never: rules.never ?? [...usual.never],
    after: rules.after ?? [...usual.after],
  };
}

/** From memory, and only ever shown as usual, never as this panel's own: how long panels take. */
export const usualMinutes: Record<Mode, { readonly from: number; readonly to: number }> = {
  'in-os': { from: 15, to: 30 },
  recovery: { from: 20, to: 45 },
};

/** Holds at every panel, whatever a family file says (common practice, no source). Short: it stands on every card. */
export const alwaysMind = [
  "The maker's service documents first, then local codes.",
  'Service menus: only those authorised by the maker or the owner.',
  'Mains: never open the panel; wiring: licensed electricians only.',
  'Heavy: step platform, second person; never lean on it; lock trolley brakes.',
] as const;

/** When to leave a panel alone at once (common practice, no source). */
export const stopAtOnce = 'smell, smoke, hot plug, loose mount, wrong label, wrong version shown';

const never = [
  'tap “Format” when the panel offers it',
  'cut the power on a dark or still screen before the wait and a margin are over',
  'leave the stick in the panel',
];

/**
 * Lists of the trade for families that give none (common practice, no source). `never` goes on from the word "Never".
 */
const usualPractice: Record<Mode, Pick<PanelAdvice, 'steps' | 'never' | 'after'>> = {
  'in-os': {
    steps: [
      'Compare the label on the panel with this card and with the tag of the stick. Stop if they differ.',
      'Take all other USB devices out. Put the stick straight into the stated port: no hub, no extension.',
      "Start the local update as the maker's document says. Read the version it shows before you agree.",
      'Do not touch the panel or its power until it has started again.',
      'Take the stick out and compare the build on the About page with the target.',
    ],
    never,
    after: [
      'the build is the target',
      'touch, picture, inputs, audio',
      'network, clock, management',
      'auto-update, passcode, schedule as before',
      'one cold restart',
    ],
  },
  recovery: {
    steps: [
      'Make sure that the wipe is approved and that everything worth keeping has been copied off the panel.',
      'Compare the label on the panel with this card and with the tag of the stick. Stop if they differ.',
      "Switch the panel off as the maker's service document says. Put the stick into the stated port.",
      "Start the recovery with the sequence from the maker's service document only; never from memory.",
      'Wait for the end that the document states, and a margin.',
      'Take the stick out as the document says, before anything else.',
    ],
    never: [...never, 'put this stick into any other panel'],
    after: [
      'the build is the target',
      'touch, picture, inputs, audio',
      'name, network, certificates, clock, management',
      'accounts, apps, licences; no account lock',
      'auto-update, passcode, schedule set again',
      'one cold restart',
    ],
  },
};

/**
 * A cheap USB 2 stick: it writes 4 to 15 MB/s and is read at about 35 (from memory). Rather too long than too short.
 */
const writeRate = 5e6;
const readRate = 30e6;

/** Fetching, plugging in, looking at the plan, tagging: a stick takes five minutes at least (from memory). */
const fewestMinutes = 5;

/** Minutes to make a stick of a package at the desk: written, read back, tagged; whole minutes. */
export const setUpMinutesFor = (bytes: number): number =>
  Math.max(fewestMinutes, Math.ceil((bytes / writeRate + bytes / readRate) / 60));

/** Minutes that an update takes at least, by the family's maker or as is usual: in less nobody did two. */
export const leastMinutes = (panel: Pick<PanelAdvice, 'minutes'> | undefined, mode: Mode): number =>
  panel?.minutes?.from ?? usualMinutes[mode].from;

/** Where the minutes at a panel are known from. */
export type MinutesFrom = 'said' | 'family' | 'memory';

/**
 * Minutes at a panel: as the person said, else the longest that the family's maker states, else the longest that is
 * usual.
 */
export function visitMinutesFor(
  said: number | undefined,
  rules: ModeRules,
  mode: Mode,
): { readonly minutes: number; readonly from: MinutesFrom } {
  if (said !== undefined) return { minutes: said, from: 'said' };
  if (rules.minutes !== undefined) return { minutes: rules.minutes.to, from: 'family' };
  return { minutes: usualMinutes[mode].to, from: 'memory' };
}

/** What the family of a prepared stick says, where this desk knows it. */
export const rulesOfStick = ({ family, mode }: Manifest, families: readonly Family[]): ModeRules =>
  families.find((one) => one.family === family?.name)?.modes[mode] ?? customaryRules(mode);
