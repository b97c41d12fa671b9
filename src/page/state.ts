import { computed, signal } from '@preact/signals';
import type { Answers } from '../core/guide/question.ts';
import { slipOf, writtenOn } from '../core/guide/slip.ts';
import {
  asBefore,
  type DeskEvent,
  type DeskSeen,
  type TargetSeen,
  type WorkSeen,
  type WorkTold,
} from '../core/report/window-talk.ts';
import { ask, comeIn, hearEvents, Refused } from './talk.ts';

// What the page knows. All of it is the server's; the page keeps nothing that a reload would lose.

export type Connection = 'coming' | 'here' | 'gone' | 'stranger';

export const connection = signal<Connection>('coming');
export const desk = signal<DeskSeen | undefined>(undefined);
export const targets = signal<readonly TargetSeen[]>([]);
export const targetsFailed = signal<string | undefined>(undefined);
export const work = signal<readonly WorkSeen[]>([]);
/** What is written on the slip. */
export const answers = signal<Answers>({});
/** What went wrong with the last thing that was asked for. */
export const trouble = signal<string | undefined>(undefined);
/** Counts up when a round changed at the server. */
export const roundChanges = signal(0);

export const slip = computed(() =>
  slipOf(
    { families: desk.value?.families ?? [], packages: desk.value?.packages, who: desk.value?.who ?? '' },
    answers.value,
  ),
);

const askDesk = (): Promise<DeskSeen> => ask('GET', '/api/desk');

export const lookAtDesk = async (): Promise<void> => {
  desk.value = await askDesk();
};

function withWhatWeHave(told: WorkTold): WorkSeen {
  const had = work.value.find(({ id }) => id === told.id);
  return {
    ...told,
    proposal: told.proposal === asBefore ? had?.proposal : told.proposal,
    answer: told.answer === asBefore ? had?.answer : told.answer,
  };
}

function take(event: DeskEvent): void {
  switch (event.event) {
    case 'targets':
      targets.value = event.targets;
      targetsFailed.value = event.failed;
      break;
    case 'work':
      work.value = event.work.map(withWhatWeHave);
      break;
    case 'changed':
      if (event.what === 'desk') void lookAtDesk().catch(sayWhy);
      else if (event.what === 'round') roundChanges.value += 1;
      else void takeSlip();
      break;
    case 'closing':
      connection.value = 'gone';
  }
}

/** Another tab may have written on it; what is being typed here counts more. */
let unsent: Answers | undefined;
/** Counts what was written here: what was asked for before that is old when it comes. */
let written = 0;
const takeSlip = async (): Promise<void> => {
  const before = written;
  const kept = await ask<Answers>('GET', '/api/slip');
  if (unsent === undefined && written === before) answers.value = kept;
};

let timer: ReturnType<typeof setTimeout> | undefined;

/** Writes on the slip; the server keeps it a moment later. */
export function write(more: Readonly<Record<string, string | undefined>>): void {
  answers.value = writtenOn(answers.value, more);
  written += 1;
  unsent = answers.value;
  clearTimeout(timer);
  timer = setTimeout(() => void attempt(keepNow), 250);
}

/** What was written is with the server when this resolves. */
export function keepNow(): Promise<void> {
  clearTimeout(timer);
  // One after the other: what was sent first must not come last.
  sending = sending.then(send, send);
  return sending;
}

let sending: Promise<void> = Promise.resolve();

async function send(): Promise<void> {
  const sent = unsent;
  if (sent === undefined) return;
  await ask('PUT', '/api/slip', sent);
  if (unsent === sent) unsent = undefined;
}

/** A new slip; the old one is gone. */
export async function clearSlip(): Promise<void> {
  clearTimeout(timer);
  unsent = undefined;
  written += 1;
  answers.value = {};
  await attempt(() => ask('DELETE', '/api/slip'));
  for (const { kind, id } of work.value) if (kind === 'prepare') await attempt(() => ask('DELETE', `/api/work/${id}`));
}

/** Does it, and says on the page what kept the desk from it. */
export async function attempt<Value>(work: () => Promise<Value>): Promise<Value | undefined> {
  try {
    trouble.value = undefined;
    return await work();
  } catch (error) {
    sayWhy(error);
    return undefined;
  }
}

function sayWhy(error: unknown): void {
  if (error instanceof Refused && error.status === 403) connection.value = 'stranger';
  else trouble.value = error instanceof Refused ? error.message : 'The desk does not answer. Is it still running?';
}

const retryMs = 1500;

/** Comes in and stays connected; a server that is gone is looked for again. */
export async function stayConnected(): Promise<void> {
  await comeIn().catch(() => {});
  for (;;) {
    try {
      const seen = await askDesk();
      await takeSlip();
      // No slip is shown before what is kept of it has come: what is written on an empty one would take its place.
      desk.value = seen;
      connection.value = 'here';
      // What kept it from here before is mended.
      trouble.value = undefined;
      await hearEvents(take);
      connection.value = 'gone';
    } catch (error) {
      connection.value = !(error instanceof Refused) ? 'gone' : error.status === 403 ? 'stranger' : 'coming';
      // It is there, and says why it cannot show what lies on it.
      if (error instanceof Refused && error.status !== 403) trouble.value = error.message;
    }
    await new Promise((resolve) => setTimeout(resolve, retryMs));
  }
}
