import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import type { Mode } from '../../model/mode.ts';
import { countInWords, listInWords } from '../../text/words.ts';
import { type OlderBuilds, olderInWords } from './build.ts';
import type { Step } from './shelf.ts';

const practice = 'common practice, no source';
const stepsInWords = (steps: readonly Step[]): string =>
  steps.map(({ build, because }) => (because === undefined ? build : `${build} (${because})`)).join(', ');

/** Findings of the area `round/`: what keeps a room out of a round, and a stick out of a preparation. */
export const roundFindings = {
  'round/wipe-not-approved': define<{ mode: Mode; name: string; byPackage: boolean }>({
    severity: 'stop',
    title: 'it wipes the panel, and no approval is noted',
    seen: ({ mode, name, byPackage }, subject) =>
      byPackage
        ? `${name} itself tells the panel to erase its data, also in ${mode} mode, and nobody is noted to have approved that for ${subject}.`
        : `In ${mode} mode everything on the panel of ${subject} is erased, and nobody is noted to have approved that.`,
    why: 'A wipe is final: whiteboards, recordings, accounts, apps, settings and network identity are gone.',
    todo: 'Ask whoever answers for the room, and have everything worth keeping backed up. Then note it in the approval column of the list, or with stickwright round record ROOM --approved-by NAME, and plan again.',
    noOverride: true,
    source: practice,
  }),

  'round/older-plan': define<NoFacts>({
    severity: 'unproven',
    title: 'the plan is of an earlier version, and may have been edited',
    seen: (_facts, subject) =>
      `The plan at ${subject} carries no digest of its own, and nothing of what the shelf could not prove.`,
    why: 'Whoever could write it may have changed which package goes to which room; nobody could tell.',
    todo: 'Plan the round again: stickwright round plan with the room list. The records beside it stay as they are.',
    source: practice,
  }),

  'round/running-unknown': define<{ target: string; bridges: readonly Step[] }>({
    severity: 'unproven',
    title: 'the list does not say what runs there, and a build in between may be due',
    seen: ({ target, bridges }, subject) =>
      `The list says no running build for ${subject}. On the way to ${target} there may be builds that must not be skipped: ${stepsInWords(bridges)}.`,
    why: 'A panel that skips a bridge build starts but only half works, or does not start.',
    todo: "Read the build string on the panel's About page, write it into the list, and plan again. A panel that does not start is none for a round: see what the maker's document says for it.",
    source: practice,
  }),

  'round/running-not-said': define<{ target: string }>({
    severity: 'unproven',
    title: 'the list does not say what runs there',
    seen: ({ target }, subject) =>
      `The list says no running build for ${subject}, so nobody can tell whether ${target} is newer.`,
    why: 'The walk may be for nothing. A panel may refuse an older build, and some lose their data with it.',
    todo: 'Read the build on the About page at the panel first, and leave it alone if it is the same or newer.',
    source: practice,
  }),

  'round/runs-newer': define<{ running: string; newest: string } & OlderBuilds>({
    severity: 'stop',
    title: 'it runs something newer than the shelf has',
    seen: ({ running, newest, older }) =>
      `Running is ${running}; the newest on the shelf is ${newest}.${olderInWords({ older })}`,
    why: 'Most panels refuse an older build; some that take it lose their data or cannot read what the newer build left behind.',
    todo: "Compare the list with the panel's About page. If it is right, there is nothing to do there; look on the maker's page whether the shelf misses a package.",
    noOverride: true,
    source: practice,
  }),

  'round/ask-first': define<{ reason: string; todo: readonly string[] }>({
    severity: 'unproven',
    title: 'somebody must be asked before a stick is made for it',
    seen: ({ reason }) => reason,
    why: 'A stick that the panel does not need is a walk for nothing, and a wipe that nobody needed is final.',
    todo: ({ todo }) => `${todo.join(' ')} Write the answer into the list, and plan again.`,
    source: practice,
  }),

  'round/looks-alike': define<{
    label: string;
    name: string;
    parts: readonly { part: string; label: string; other: string }[];
  }>({
    severity: 'unproven',
    title: 'the shelf has a package for a label that looks alike',
    seen: ({ label, name, parts }) =>
      `"${label}" fits nothing on the shelf, but ${name} differs only in what is easily misread:${parts.map(({ part, label: one, other }) => `\n  ${part}: list ${one}, package ${other}`).join('')}`,
    why: 'Either the list or the plate was misread. A package for another panel is refused at best.',
    todo: 'Have somebody read the plate again, letter by letter, and correct the list if it is wrong.',
    source: practice,
  }),

  'round/recovery-not-needed': define<{ build: string }>({
    severity: 'caution',
    title: 'the list asks for a recovery, but the panel runs the newest build',
    seen: ({ build }, subject) => `The list asks for a recovery of ${subject}, and says that it runs ${build} already.`,
    why: 'A recovery would wipe the panel for nothing, so it is not part of the round.',
    todo: 'If the panel is at fault and the maker asks for a recovery with this build, make its stick by itself: stickwright prepare.',
    source: practice,
  }),

  'round/load-ready': define<{ load: string; codes: readonly string[] }>({
    severity: 'note',
    title: 'its sticks are prepared already',
    seen: ({ load, codes }) =>
      `Load ${load} has its sticks on record: ${codes.join(', ')}. Nothing was prepared for it.`,
    why: 'What was written, read back and recorded need not be written again.',
    todo: 'Verify each stick before the walk: stickwright verify.',
    source: practice,
  }),

  'round/load-done': define<{ load: string; rooms: number }>({
    severity: 'note',
    title: 'its rooms are done already',
    seen: ({ load, rooms }) =>
      `Load ${load}: ${countInWords(rooms, 'room is', 'rooms are')} recorded as done. Nothing was prepared for it.`,
    why: 'There is no panel left that needs it.',
    todo: 'See what is open: stickwright round status.',
    source: practice,
  }),

  'round/stick-still-out': define<{ code: string; load: string; rooms: readonly string[] }>({
    severity: 'stop',
    title: 'this stick is still a prepared one of this round',
    seen: ({ code, load, rooms }, subject) =>
      `${subject} is stick ${code} with load ${load}${rooms.length === 0 ? '' : `, which ${listInWords(rooms)} ${rooms.length === 1 ? 'waits' : 'wait'} for`}. Nobody has recorded that it came back.`,
    why: 'Whoever counts on that tag would carry another package than the tag says.',
    todo: ({ code }) =>
      `Take another stick; or look at it first with stickwright verify --returned --clear. Where nobody counts on ${code} any more, go on with --accept round/stick-still-out --because and why.`,
    source: practice,
  }),

  'round/package-gone': define<{ name: string; load: string }>({
    severity: 'stop',
    title: 'the package is no longer on the shelf',
    seen: ({ name, load }) => `Load ${load} needs ${name}, and the shelf does not have that content any more.`,
    why: 'A stick carries exactly what was planned, or nothing.',
    todo: 'Plan the round again, or put that package back: stickwright shelf add.',
    noOverride: true,
    source: practice,
  }),

  'round/approval-gone': define<{ rooms: readonly string[]; load: string }>({
    severity: 'stop',
    title: 'an approval that the plan rests on no longer counts',
    seen: ({ rooms, load }) =>
      `Load ${load} wipes, and the approval for ${listInWords(rooms)} was withdrawn or is not noted.`,
    why: 'A wipe is final: nobody can bring it back.',
    todo: 'Have the wipe approved and noted, or take the room out, and plan again.',
    noOverride: true,
    source: practice,
  }),
};
