import { computed, signal } from '@preact/signals';
import type { RoundRecord } from '../core/model/round-record.ts';
import type { Pocket } from '../core/rounds/pocket/make-pocket.ts';
import { codeOf, nextLine, type PocketLine, serialiseLine } from '../core/rounds/pocket/pocket-lines.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import type { RoundRecordWithoutDigest } from '../core/rounds/records/own-digests.ts';
import { relateBuilds } from '../core/rounds/records/read-visit.ts';
import { phoneTools } from './tools.ts';

/** What this file carries; it stands in the page as data. */
export const pocket = JSON.parse(document.getElementById('pocket-data')?.textContent ?? '') as Pocket;

/** What was checked and ticked for one try at one panel. */
export interface AtPanel {
  /** Codes as typed or scanned. */
  readonly stick?: string | undefined;
  readonly plate?: string | undefined;
  /** Numbers of the steps and of what is looked at afterwards, from 0. */
  readonly steps?: readonly number[] | undefined;
  readonly after?: readonly number[] | undefined;
  /** When the update began, in milliseconds. */
  readonly startedMs?: number | undefined;
}

interface Kept {
  readonly lines: readonly string[];
  readonly panels: Readonly<Record<string, AtPanel>>;
}

// A new file for the same person has the same id: what was kept goes on in it.
const key = `stickwright-pocket-${pocket.id}`;
const photoKey = `${key}-photos`;

/** Whether this phone keeps anything for this page. */
export const storage = signal<'kept' | 'refused'>('kept');
export const lines = signal<readonly PocketLine[]>([]);
/** Texts of kept lines that are not what was written: given out with the others, and counted nowhere. */
export const broken = signal<readonly string[]>([]);
export const panels = signal<Readonly<Record<string, AtPanel>>>({});
/** Photos of entries, in base64, by the ids of their records. */
export const photos = signal<ReadonlyMap<string, string>>(new Map());
/** How many lines there were when they were last given out. */
export const givenOut = signal(0);

function isOurs(text: string): PocketLine | undefined {
  try {
    const line = JSON.parse(text) as PocketLine;
    return line.pocket === pocket.id && codeOf(line, pocket.secret, phoneTools.hmac) === line.code ? line : undefined;
  } catch {
    return undefined;
  }
}

/** Takes in what the phone has; never throws, whatever lies there. */
export function readKept(): void {
  let text: string | null;
  try {
    text = localStorage.getItem(key);
    localStorage.setItem(`${key}-probe`, '1');
    localStorage.removeItem(`${key}-probe`);
  } catch {
    storage.value = 'refused';
    return;
  }
  readPhotos();
  if (text === null) return;
  let kept: Partial<Kept>;
  try {
    kept = JSON.parse(text) as Partial<Kept>;
  } catch {
    // Half a text: whole lines in it are found by the desk.
    broken.value = [text];
    return;
  }
  const read = (Array.isArray(kept.lines) ? kept.lines : []).map((one) => ({ one, line: isOurs(String(one)) }));
  const known = new Set(lines.value.map(({ code }) => code));
  lines.value = [
    ...lines.value,
    ...read.flatMap(({ line }) => (line === undefined || known.has(line.code) ? [] : [line])),
  ];
  broken.value = read.flatMap(({ one, line }) => (line === undefined ? [String(one)] : []));
  panels.value = { ...kept.panels };
}

function save(): void {
  const kept: Kept = { lines: [...lines.value.map(serialiseLine), ...broken.value], panels: panels.value };
  const text = JSON.stringify(kept);
  try {
    localStorage.setItem(key, text);
    storage.value = localStorage.getItem(key) === text ? 'kept' : 'refused';
  } catch {
    storage.value = 'refused';
  }
}

/** Another tab with this file wrote something. */
export function watchOtherTabs(): void {
  addEventListener('storage', (event) => {
    if (event.key === key && event.newValue !== null) readKept();
  });
}

/** Apart from the entries: a photo that finds no room must not cost an entry. False where it is not kept. */
export function addPhoto(record: string, jpeg: string): boolean {
  photos.value = new Map([...photos.value, [record, jpeg]]);
  try {
    localStorage.setItem(photoKey, JSON.stringify([...photos.value]));
    return true;
  } catch {
    return false;
  }
}

function readPhotos(): void {
  try {
    const kept = JSON.parse(localStorage.getItem(photoKey) ?? '[]') as [string, string][];
    photos.value = new Map([...kept, ...photos.value]);
  } catch {
    // None is kept, or half a text is: the entries stand without them.
  }
}

/** Adds a line and keeps it at once. */
export function addLine(record: RoundRecordWithoutDigest): void {
  readKept(); // another tab may have gone on
  lines.value = [...lines.value, nextLine(record, lines.value, pocket, phoneTools.hmac)];
  save();
}

export function setPanel(panel: string, change: AtPanel): void {
  panels.value = { ...panels.value, [panel]: { ...panels.value[panel], ...change } };
  save();
}

export function erase(): void {
  try {
    localStorage.removeItem(key);
    localStorage.removeItem(photoKey);
  } catch {
    // Where nothing was kept there is nothing to erase.
  }
  lines.value = [];
  broken.value = [];
  panels.value = {};
  photos.value = new Map();
}

export const relate = relateBuilds(pocket.families);

/** The round as this phone knows it: what the desk said, and its own entries. */
export const status = computed(() => {
  const own = lines.value.map(({ record }) => ({ ...record, selfSha256: '' }) as RoundRecord);
  const ids = new Set(own.map(({ id }) => id));
  // Entries that came to the desk are in a newer file, too.
  return foldRound(pocket.round, [...pocket.records.filter(({ id }) => !ids.has(id)), ...own], relate);
});

/** Rooms in walking order. */
export const rooms = computed(() => {
  const byKey = new Map(status.value.rooms.map((room) => [room.room.key, room]));
  return pocket.order.flatMap((one) => byKey.get(one) ?? []);
});
