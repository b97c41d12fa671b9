import type { Mode } from './mode.ts';

/** What the panel can still do: whether it starts, what its own update says, who may set it, what is worth keeping. */
export const wayFields = ['starts', 'air', 'settings', 'keep'] as const;

export type WayField = (typeof wayFields)[number];

/** What a room list can say of a panel; only `room` and `label` must be there. */
export const roomFields = [
  ...(['room', 'label', 'running', 'serial', 'asset', 'notes', 'mode', 'approval'] as const),
  ...wayFields,
] as const;

export type RoomField = (typeof roomFields)[number];

export const isWayField = (field: RoomField): field is WayField => wayFields.some((one) => one === field);

/** One panel of a room list. */
export interface Room {
  /** Unique in its list: the room; where a room has several panels, with asset tag, serial or label behind it. */
  readonly key: string;
  /** Where a person finds the panel, as the list writes it. */
  readonly room: string;
  readonly label: string;
  /** The build on its About page, as somebody noted it. */
  readonly running: string | undefined;
  readonly serial: string | undefined;
  readonly asset: string | undefined;
  readonly notes: string | undefined;
  /** The mode that the list asks for, against the round's own. */
  readonly mode: Mode | undefined;
  /** Who approved a wipe, as the list notes it. */
  readonly approval: string | undefined;
  /** What the panel can still do, as answers to the questions of the way; empty where the list does not say. */
  readonly answers: Readonly<Partial<Record<WayField, string>>>;
  /** Line or spreadsheet row where it begins, from 1. */
  readonly row: number;
}

/** A row that holds something and is no room of the round. */
export interface UnusedRow {
  /** As in `Room.row`. */
  readonly row: number;
  /** `unusable`: left out until it is mended. `repeated`: an earlier row says the same. `no-room`: a title, a sum. */
  readonly why: 'unusable' | 'repeated' | 'no-room';
  /** What it says of the room; empty where that cannot be told. */
  readonly room: string;
  /** Why, in the words of its findings. */
  readonly reason: string;
}

/** How a list was written, so that it can be given back in the same way. */
export type ListForm =
  | {
      readonly kind: 'csv';
      readonly delimiter: string;
      /** A WHATWG encoding label. */
      readonly encoding: string;
      readonly byteOrderMark: boolean;
    }
  /** `isChosen`: somebody named the sheet, and it is not the one that is read by itself. */
  | { readonly kind: 'xlsx'; readonly sheet: string; readonly isChosen?: true };

/** A room list as the fleet's owner keeps it. */
export interface RoomList {
  /** The path as given. */
  readonly source: string;
  /** SHA-256 of the file's bytes, lower hex. */
  readonly sha256: string;
  readonly form: ListForm;
  readonly headings: readonly string[];
  /** Column of each field, from 0. */
  readonly columns: Readonly<Partial<Record<RoomField, number>>>;
  /** The good rows, in their order. */
  readonly rooms: readonly Room[];
  /** The other rows that are not empty, in their order: none vanishes. */
  readonly unused: readonly UnusedRow[];
  /** Every row below the headings as it stands there, also the bad ones. */
  readonly rows: readonly { readonly row: number; readonly cells: readonly string[] }[];
}
