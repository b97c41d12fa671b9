import type { DamagedEntry } from '../../checks/shelf/check-listing.ts';
import { type Finding, severityOf } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { Room } from '../../model/room.ts';
import type { ShelvedPackage } from '../../shelf/shelf-record.ts';
import { planRoom } from './plan-room.ts';
import type { PlannedRoom } from './planned-room.ts';
import { shelfForRooms } from './shelf-for-rooms.ts';

export interface RoomsQuestion {
  readonly rooms: readonly Room[];
  readonly mode: Mode;
  readonly families: readonly Family[];
  readonly packages: readonly ShelvedPackage[];
  readonly damaged: readonly DamagedEntry[];
  /** Who approved the wipe of a room, by the room's key. */
  readonly approvals: ReadonlyMap<string, string>;
}

export interface RoomsAnswer {
  readonly rooms: readonly PlannedRoom[];
  /** What to mind of packages that the rooms need, each package once. */
  readonly aboutPackages: readonly Finding[];
}

/** What every room of a list needs. Families and shelf are read once, and equal labels once. */
export function planRooms(question: RoomsQuestion): RoomsAnswer {
  const { packages, damaged, families, mode, approvals } = question;
  const shelf = shelfForRooms(packages, damaged, families);
  const rooms = question.rooms.map((room) => planRoom({ room, mode, approvedBy: approvals.get(room.key) }, shelf));
  const needed = new Set(rooms.flatMap(({ steps }) => steps.map((step) => step.package)));
  const aboutPackages = [...needed].flatMap(shelf.saysOf).filter((found) => severityOf(found) !== 'note');
  return { rooms, aboutPackages };
}
