import { type Finding, verdictOf, withAccepted } from '../core/findings/finding.ts';
import type { Tell } from '../core/report/reports.ts';
import type { ShelfAddition } from '../core/report/shelf-reports.ts';
import { checkProvenance } from '../core/shelf/check-chosen.ts';
import { checkNameTaken, checkSameBuild, checkSameContent } from '../core/shelf/check-newcomer.ts';
import { checkPlaced } from '../core/shelf/check-shelf.ts';
import {
  addProof,
  describePackage,
  describeResult,
  type PackageDescription,
  type PackageOrigin,
  settledNow,
} from '../core/shelf/describe-package.ts';
import { withoutDoubles } from '../core/shelf/index-shelf.ts';
import { type ShelvedPackage, shelfRecordWithDigest } from '../core/shelf/shelf-record.ts';
import type { ArchiveAnswer } from '../core/update-package/update-package-facts.ts';
import type { Incoming, Shelf } from '../io/shelf/shelf.ts';
import type { ArchiveQuestion } from './examine-archive.ts';
import type { Ports } from './ports.ts';

/** A package that was found sound, and whose bytes wait beside the shelf. */
interface SoundPackage {
  readonly answer: ArchiveAnswer;
  readonly sha256: string;
  readonly findings: readonly Finding[];
  readonly incoming: Incoming;
  /** What lay on the shelf before. */
  readonly before: readonly ShelvedPackage[];
}

type Placement = Pick<ShelfAddition, 'state' | 'findings' | 'shelved'>;

/** Puts a sound package on the shelf, unless it is there already or what is there speaks against it. */
export async function placeOnShelf(newcomer: SoundPackage, work: ShelfAddWork): Promise<Placement> {
  const { answer, sha256, before, findings, incoming } = newcomer;
  const { request, ports } = work;
  const twin = withoutDoubles(before).find(({ record }) => record.sha256 === sha256);
  const taken = checkNameTaken({ name: answer.facts.fileName, sha256 }, before, false);
  if (twin !== undefined && taken.length === 0) return await meetTwin(twin, newcomer, work);
  const description = describePackage(answer, sha256, request);
  const twins = checkSameBuild({ name: description.name, sha256 }, before, request.families);
  const all = [...findings, ...twins, ...beside(before, false, description, work)];
  if (verdictOf(all) === 'not-ready') return { state: 'refused', findings: all, shelved: undefined };
  const record = shelfRecordWithDigest(
    {
      ...description,
      schema: 'stickwright/shelf-record/1',
      addedAt: ports.now(),
      tool: { name: 'stickwright', version: ports.toolVersion },
      result: describeResult(all),
    },
    ports.digesting.sha256,
  );
  return await lookAgain(await incoming.publish(record), description, all, work);
}

/** What the other packages say against or for this one. */
function beside(
  others: readonly ShelvedPackage[],
  atTheSameTime: boolean,
  description: PackageDescription,
  { request }: ShelfAddWork,
): readonly Finding[] {
  const found = [
    ...checkNameTaken(description, others, atTheSameTime),
    ...checkProvenance(description, others, request.families),
  ];
  return withAccepted(found, request.accepted);
}

/**
 * The same content is there already. If that copy rotted, this one takes its place, under the record it had; if it
 * proves more, the record says so.
 */
async function meetTwin(
  twin: ShelvedPackage,
  { answer, findings, incoming }: SoundPackage,
  { shelf, running, ports }: ShelfAddWork,
): Promise<Placement> {
  const { record } = twin;
  const name = answer.facts.fileName;
  const said = [...findings, checkSameContent(name, twin)];
  if (name !== record.name) return { state: 'there', findings: said, shelved: twin };
  const codes = settledNow(record, findings);
  if (codes.length > 0) {
    const { selfSha256: _old, ...rest } = record;
    const tool = { name: 'stickwright', version: ports.toolVersion } as const;
    const result = addProof(record.result, findings);
    const proven = shelfRecordWithDigest({ ...rest, tool, result }, ports.digesting.sha256);
    const shelved = await incoming.publish(proven);
    await shelf.remove(twin.id);
    const settled = checkPlaced(name, { state: 'proven', addedAt: record.addedAt, codes });
    return { state: 'proven', findings: [...findings, settled], shelved };
  }
  if (await isWhole(twin, { shelf, running })) return { state: 'there', findings: said, shelved: twin };
  const shelved = await incoming.publish(record);
  await shelf.remove(twin.id);
  return { state: 'restored', findings: [...findings, checkPlaced(name, { state: 'restored' })], shelved };
}

async function isWhole(
  twin: ShelvedPackage,
  { shelf, running }: Pick<ShelfAddWork, 'shelf' | 'running'>,
): Promise<boolean> {
  const content = await shelf
    .digest(twin, () => {}, running.signal)
    .catch((error) => {
      if (running.signal.aborted) throw error;
      return undefined;
    });
  return content?.sha256 === twin.record.sha256;
}

/**
 * What another desk put there since the first look may be of the same name. Each puts its own there first and looks
 * afterwards, so of two that meet at least one sees the other and takes its own back.
 */
async function lookAgain(
  shelved: ShelvedPackage,
  description: PackageDescription,
  findings: readonly Finding[],
  work: ShelfAddWork,
): Promise<Placement> {
  const { name, sha256 } = shelved.record;
  const { packages } = await work.shelf.list();
  const others = packages.filter(({ id }) => id !== shelved.id);
  const met = beside(others, true, description, work);
  if (verdictOf(met) === 'not-ready') {
    await work.shelf.remove(shelved.id);
    return { state: 'refused', findings: [...findings, ...met], shelved: undefined };
  }
  const double = others.find(({ id, record }) => record.sha256 === sha256 && record.name === name && id < shelved.id);
  if (double !== undefined) {
    await work.shelf.remove(shelved.id);
    return { state: 'there', findings: [...findings, checkSameContent(name, double)], shelved: double };
  }
  return { state: 'added', findings: [...findings, checkPlaced(name, { state: 'added', sha256 })], shelved };
}

export interface ShelfAddRequest extends Omit<ArchiveQuestion, 'archivePath' | 'expectBytes'>, PackageOrigin {
  readonly archivePaths: readonly string[];
  readonly accepted: ReadonlyMap<string, string>;
}

/** One run of `shelf add`, the same for all its archives. */
export interface ShelfAddWork {
  readonly request: ShelfAddRequest;
  readonly shelf: Shelf;
  /** The shelf was not there before. */
  readonly made: boolean;
  readonly ports: Ports;
  readonly running: { readonly tell: Tell; readonly signal: AbortSignal };
}
