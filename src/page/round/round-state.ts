import { computed, effect, signal } from '@preact/signals';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { ListSeen, RoundSeen } from '../../core/report/round-talk.ts';
import type { RoomProgress } from '../../core/rounds/records/round-status.ts';
import { attempt, connection, roundChanges } from '../state.ts';
import { ask } from '../talk.ts';

// What the page knows of the round; all of it is the server's.

export const round = signal<RoundSeen | undefined>(undefined);
/** Null: no list lies on the desk. */
export const list = signal<ListSeen | null | undefined>(undefined);
/** Rows of the list that somebody wants to mend although they can be read. */
export const wantedRows = signal<readonly number[]>([]);
/** What was said of the list and the packages when the plan was made. */
export const planned = signal<ReportDocument | undefined>(undefined);
/** The key of the room whose card lies on top. */
export const chosenRoom = signal<string | undefined>(undefined);

/** A room as the status document has it, as far as the page shows it. */
export interface RoomNow {
  readonly room: string;
  readonly label: string;
  readonly serial: string | null;
  readonly asset: string | null;
  readonly running: string | null;
  readonly target: string | null;
  readonly planned: string;
  readonly progress: RoomProgress;
  readonly reached: string | null;
  readonly next: { readonly build: string; readonly load: string } | null;
  readonly sticks: readonly string[];
  readonly failures: number;
  readonly wiped: boolean;
  readonly approval: string | null;
  readonly visits: readonly VisitNow[];
}

export interface VisitNow {
  readonly id: string;
  readonly at: string;
  readonly who: string;
  readonly outcome: string;
  readonly because: string | null;
  readonly buildAfter: string | null;
  readonly stick: string | null;
  readonly text: string | null;
}

export interface StatusDocument extends ReportDocument {
  readonly counts: Readonly<Record<RoomProgress, number>>;
  readonly rooms: readonly RoomNow[];
}

export const status = computed(() => round.value?.status as StatusDocument | undefined);

export const roomsNow = computed(() => new Map(status.value?.rooms.map((one) => [one.room, one])));

export const progressWords: Readonly<Record<RoomProgress, string>> = {
  done: 'done',
  'under-way': 'under way',
  unclear: 'unclear',
  failed: 'failed',
  skipped: 'skipped',
  prepared: 'prepared',
  open: 'open',
  'over-the-air': 'over the air',
  held: 'held',
  'up-to-date': 'up to date',
};

let asked = 0;

export async function lookAtRound(): Promise<void> {
  asked += 1;
  const mine = asked;
  const rows = wantedRows.value;
  const query = rows.length === 0 ? '' : `?rows=${rows.join(',')}`;
  await attempt(async () => {
    const [seen, dropped] = await Promise.all([
      ask<RoundSeen>('GET', '/api/round'),
      ask<ListSeen | null>('GET', `/api/round/list${query}`),
    ]);
    // An answer that was overtaken by a later one says what was.
    if (mine !== asked) return;
    round.value = seen;
    list.value = dropped;
  });
}

let isWatched = false;

/** From the first time that the sheet is shown: whatever changes at the server is looked at again. */
export function watchRound(): void {
  if (isWatched) return;
  isWatched = true;
  effect(() => {
    if (connection.value !== 'here' || roundChanges.value < 0 || wantedRows.value.length < 0) return;
    void lookAtRound();
  });
}
