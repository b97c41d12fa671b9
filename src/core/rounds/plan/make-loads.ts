import { partOf } from '../../label/read-with-grammar.ts';
import type { Family } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { Parts } from '../../model/panel-identity.ts';
import type { ReadPackage } from '../../shelf/index-shelf.ts';
import { upperForComparing } from '../../text/label-text.ts';
import { groupBy } from '../../text/words.ts';
import type { PlannedStep } from './course-to-newest.ts';
import type { PlannedRoom } from './plan-rooms.ts';

/** What one stick carries: one package in one mode, for panels that are all wiped or none of them. */
export interface PlannedLoad {
  readonly package: ReadPackage;
  readonly family: Family;
  readonly variant: Parts;
  readonly mode: Mode;
  readonly wipes: boolean;
  /** In the order of the list, each once. */
  readonly rooms: readonly PlannedRoom[];
}

export interface Loads {
  readonly loads: readonly PlannedLoad[];
  /** A room's loads, one for each of its steps. */
  readonly loadsOf: (room: PlannedRoom) => readonly PlannedLoad[];
}

interface Errand {
  readonly room: PlannedRoom;
  readonly step: PlannedStep;
  /** Which of the room's sticks it is, from 0. */
  readonly at: number;
}

/**
 * The fewest sticks for what the rooms need. One stick serves two errands where they want the same content, for the
 * same variant, in the same mode, and both rooms are wiped or neither; nothing else may share one. So the errands fall
 * into classes, and fewer sticks than classes there cannot be. A room that is wiped at any of its steps counts as wiped
 * at all of them.
 */
export function makeLoads(rooms: readonly PlannedRoom[]): Loads {
  const errands = rooms.flatMap((room) => room.steps.map((step, at): Errand => ({ room, step, at })));
  const classes = [...groupBy(errands, keyOf)].map(([key, same]) => ({
    key,
    depth: depthOf(same),
    load: describe(same),
  }));
  const inOrder = classes.toSorted(byOrderOfWork);
  const byKey = new Map(inOrder.map(({ key, load }) => [key, load]));
  return {
    loads: inOrder.map(({ load }) => load),
    loadsOf: (room) => room.steps.flatMap((step) => byKey.get(keyOf({ room, step })) ?? []),
  };
}

/** Errands of one key can go on one stick. */
function keyOf({ room: { mode, wipes }, step }: Pick<Errand, 'room' | 'step'>): string {
  const [reading] = step.package.package.readings;
  const variant = Object.entries(variantOf(step.package)).map(([part, value]) => [part, upperForComparing(value)]);
  return JSON.stringify([step.package.shelved.record.sha256, reading?.family.family, variant, mode, wipes]);
}

function variantOf({ package: { readings } }: ReadPackage): Parts {
  const [reading] = readings;
  const { agree = [], parts = {} } = reading ?? {};
  return Object.fromEntries(agree.map((part) => [part, partOf(parts, part) ?? '']));
}

const depthOf = (errands: readonly Errand[]): number => errands.reduce((most, { at }) => Math.max(most, at), 0);

function describe(errands: readonly Errand[]): PlannedLoad {
  const [first] = errands;
  if (first?.room.family === undefined) throw new TypeError('an errand comes from a room whose label was read');
  const { room, step } = first;
  return {
    package: step.package,
    family: first.room.family,
    variant: variantOf(step.package),
    mode: room.mode,
    wipes: room.wipes,
    rooms: [...new Set(errands.map((errand) => errand.room))],
  };
}

interface Class {
  readonly depth: number;
  readonly load: PlannedLoad;
}

/** What wipes comes last; bridges come before what they lead to; then what serves most rooms. */
const byOrderOfWork = ({ load: a, depth: depthA }: Class, { load: b, depth: depthB }: Class): number =>
  Number(a.wipes) - Number(b.wipes) ||
  depthA - depthB ||
  b.rooms.length - a.rooms.length ||
  (a.rooms[0]?.room.row ?? 0) - (b.rooms[0]?.room.row ?? 0);
