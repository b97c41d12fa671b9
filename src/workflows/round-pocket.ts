import { verdictOf } from '../core/findings/finding.ts';
import type { RoundPocketReport } from '../core/report/round-reports.ts';
import {
  checkPocket,
  makePocket,
  type Pocket,
  type PocketShare,
  walkingOrder,
} from '../core/rounds/pocket/make-pocket.ts';
import { type RoundDesk, readRound } from './round-desk.ts';

interface RoundPocketPorts extends RoundDesk {
  /** An id and a secret that nobody can guess. */
  readonly newPocket: () => { readonly id: string; readonly secret: string };
  /** The file for the phone. */
  readonly renderPocket: (pocket: Pocket) => Uint8Array;
  /** Writes it whole or not at all; throws ToolError. Returns where. */
  readonly write: (bytes: Uint8Array) => Promise<string>;
}

/**
 * The part of the round that one person carries, as a file for their phone. A second file for the same person has the
 * id and the secret of the first: what the phone kept goes on in it.
 */
export async function makeRoundPocket(
  { who, ...share }: PocketShare & { readonly who: string },
  desk: RoundPocketPorts,
): Promise<RoundPocketReport> {
  const { status, records, findings: known } = await readRound(desk);
  const families = await desk.families(status.round.families).catch(() => []); // readRound has said why
  const isSame = (other: string): boolean => other.trim().toUpperCase() === who.trim().toUpperCase();
  const earlier = (await desk.folder.pockets()).find((one) => isSame(one.who));
  const { id, secret } = earlier ?? desk.newPocket();
  const order = walkingOrder(status.round, share);
  const mark = { id, secret, who, madeAt: desk.now() };
  const pocket = makePocket(status.round, records, families, mark, order);
  await desk.folder.keepPocket(mark);
  const bytes = desk.renderPocket(pocket);
  const file = await desk.write(bytes);
  const findings = [...checkPocket(pocket, { file, bytes: bytes.byteLength }), ...known];
  return {
    command: 'round pocket',
    verdict: verdictOf(findings),
    findings,
    place: desk.folder.place,
    pocket: id,
    who,
    rooms: order,
    file,
    bytes: bytes.byteLength,
  };
}
