import { computed, signal } from '@preact/signals';
import type { RoundRecord } from '../core/model/round-record.ts';
import type { Pocket } from '../core/rounds/pocket/make-pocket.ts';
import { codeOf, nextLine, type PocketLine, serialiseLine } from '../core/rounds/pocket/pocket-lines.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import type { RoundRecordWithoutDigest } from '../core/rounds/records/own-digests.ts';
import { relateBuilds } from '../core/rounds/records/read-visit.ts';
import type { RoomStatus } from '../core/rounds/records/round-status.ts';
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
  /** The outcome as far as it is written: a phone may throw the page away while its camera takes a picture. */
  readonly draft?: { readonly kind: string; readonly words: string } | undefined;
}

// A new file for the same person has the same id: what was kept goes on in it.
const key = `stickwright-pocket-${pocket.id}`;
/**
 * Each entry, each try at a panel and each photo lies under a name of its own, so that two tabs that write at one
 * moment, or a photo that finds no room, cost no entry: nobody is to count on a lock (HTML, the localStorage getter).
 */
const lineKey = `${key}-line-`;
const panelKey = `${key}-panel-`;
const photoKey = `${key}-photo-`;

/** Whether this phone keeps anything for this page. */
export const storage = signal<'kept' | 'refused'>('kept');
/** In the order of their numbers. Where two tabs wrote at one moment two have one number, and both stand. */
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

function parsed<T>(text: string): readonly T[] {
  try {
    return [JSON.parse(text) as T];
  } catch {
    return []; // what is ticked is ticked again
  }
}

/** What is kept under names that begin so: the rest of each name, and its text. Throws where storage is refused. */
function keptUnder(start: string): readonly (readonly [name: string, text: string])[] {
  const names = Object.keys(localStorage).filter((name) => name.startsWith(start));
  return names.map((name) => [name.slice(start.length), localStorage.getItem(name) ?? '']);
}

const inOrder = (all: readonly PocketLine[]): readonly PocketLine[] =>
  [...new Map(all.map((line) => [line.code, line])).values()].toSorted(
    (a, b) => a.number - b.number || (a.code < b.code ? -1 : 1),
  );

/** Takes in what the phone has, beside what this page has; never throws, whatever lies there. */
export function readKept(): void {
  try {
    localStorage.setItem(`${key}-probe`, '1');
    localStorage.removeItem(`${key}-probe`);
    const known = new Map(lines.value.map((line) => [serialiseLine(line), line]));
    const read = keptUnder(lineKey).map(([, text]) => ({ text, line: known.get(text) ?? isOurs(text) }));
    lines.value = inOrder([...lines.value, ...read.flatMap(({ line }) => line ?? [])]);
    broken.value = read.flatMap(({ text, line }) => (line === undefined ? [text] : []));
    const ticked = keptUnder(panelKey).flatMap(([name, text]) =>
      parsed<AtPanel>(text).map((at) => [name, at] as const),
    );
    panels.value = { ...panels.value, ...Object.fromEntries(ticked) };
    photos.value = new Map([...photos.value, ...keptUnder(photoKey)]);
  } catch {
    storage.value = 'refused';
  }
}

/** Whether it was kept. */
function keep(name: string, text: string): boolean {
  try {
    if (localStorage.getItem(name) !== text) localStorage.setItem(name, text);
    return localStorage.getItem(name) === text;
  } catch {
    return false;
  }
}

/** Another tab with this file wrote something, or erased it. */
export function watchOtherTabs(): void {
  addEventListener('storage', ({ key: name, newValue }) => {
    if (name === null || !name.startsWith(key)) return;
    if (newValue !== null) return readKept();
    lines.value = lines.value.filter(({ code }) => lineKey + code !== name);
    broken.value = [];
    photos.value = new Map([...photos.value].filter(([record]) => photoKey + record !== name));
    panels.value = Object.fromEntries(Object.entries(panels.value).filter(([panel]) => panelKey + panel !== name));
  });
}

/** One try at one panel is one: after each entry its checks begin anew. */
export const panelKeyOf = ({ room, next, visits }: RoomStatus): string =>
  [room.key, next?.number ?? 0, visits.length].join('|');

/** False where it is not kept. */
export function addPhoto(record: string, jpeg: string): boolean {
  photos.value = new Map([...photos.value, [record, jpeg]]);
  return keep(photoKey + record, jpeg);
}

/** Adds a line and keeps it at once, with all that found no room before. */
export function addLine(record: RoundRecordWithoutDigest): void {
  readKept(); // another tab may have gone on
  lines.value = inOrder([...lines.value, nextLine(record, lines.value, pocket, phoneTools.hmac)]);
  const kept = lines.value.map((line) => keep(lineKey + line.code, serialiseLine(line)));
  storage.value = kept.every(Boolean) ? 'kept' : 'refused';
}

export function setPanel(panel: string, change: AtPanel): void {
  const at = { ...panels.value[panel], ...change };
  panels.value = { ...panels.value, [panel]: at };
  storage.value = keep(panelKey + panel, JSON.stringify(at)) ? 'kept' : 'refused';
}

export function erase(): void {
  lines.value = [];
  broken.value = [];
  panels.value = {};
  photos.value = new Map();
  try {
    for (const [name] of keptUnder(key)) localStorage.removeItem(key + name);
  } catch {
    // Where nothing was kept there is nothing to erase.
  }
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
