import { createHash, randomBytes } from 'node:crypto';
import { join } from 'node:path';
import type { Round } from '../../core/model/round.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { parseRound, serialiseRound } from '../../core/rounds/records/own-digests.ts';
import { sha256 } from '../digest/node-digest.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from '../files/durable-files.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { mostListBytes } from '../rooms/read-table.ts';
import { noPlan, toRoundError } from './rounds.ts';

const planName = 'round.json';
/** A room takes about 2 KB in it, and a list has at most 32 MB. */
const largestPlanBytes = 512 * 2 ** 20;

/** The copies of lists carry their content in their name, so that a plan never meets another plan's list. */
const copyPattern = /^list-[0-9a-f]{16}(\.[A-Za-z0-9]{1,8})?$/;

/** `list-<start of its SHA-256>.csv`. */
export const copyNameOf = (sha256: string, extension: string): string =>
  `list-${sha256.slice(0, 16)}${/^\.[A-Za-z0-9]{1,8}$/.test(extension) ? extension.toLowerCase() : ''}`;

const newAgain =
  'Plan the round again: stickwright round plan with the room list. The records beside it stay as they are.';

/** The kept plan; undefined where none was made yet. */
export async function readPlan(place: string): Promise<Round | undefined> {
  const path = join(place, planName);
  const bytes = await readRegularFile(path, largestPlanBytes).catch((cause) => {
    if (systemWordOf(cause) === 'ENOENT') return undefined;
    throw toRoundError(cause, 'read', path);
  });
  return bytes === undefined ? undefined : parsePlan(bytes.toString('utf8'), path);
}

function parsePlan(text: string, path: string): Round {
  const reading = parseRound(text, sha256);
  switch (reading.state) {
    case 'whole':
      return reading.document;
    case 'newer':
      throw new ToolError(
        'round/unreadable',
        path,
        `${path} has the form ${reading.schema}; this version of stickwright knows stickwright/round/1 and 2.`,
        'Use the version of stickwright that made it, or a newer one.',
      );
    case 'broken':
      throw new ToolError(
        'round/unreadable',
        path,
        `${path} is no plan of a round that anything can be made from: ${reading.problem}.`,
        newAgain,
      );
  }
}

/** The bytes of the list that the kept plan was made from. */
export async function readList(place: string): Promise<Uint8Array> {
  for (let tries = 2; ; tries--) {
    const round = await readPlan(place);
    if (round === undefined) throw noPlan(place);
    const path = join(place, round.list.copy);
    try {
      const bytes = await readRegularFile(path, mostListBytes);
      if (sha256Of(bytes) === round.list.sha256) return bytes;
      throw new ToolError('round/unreadable', path, `${path} was changed since the round was planned.`, newAgain);
    } catch (cause) {
      // Another desk replaced the plan between the two reads, and its list with it.
      if (systemWordOf(cause) === 'ENOENT' && tries > 1) continue;
      throw toRoundError(cause, 'read', path);
    }
  }
}

/**
 * Replaces the plan and its list. The list comes first, under a name of its own; the plan that names it takes the old
 * one's place by one rename; the list that only the old plan named is cleared away last. A cut at any point leaves one
 * plan with its list.
 */
export async function writePlan(place: string, round: Round, list: Uint8Array): Promise<void> {
  if (!copyPattern.test(round.list.copy)) throw new TypeError(`${round.list.copy} is no name of a copied list`);
  const path = join(place, planName);
  const before = await listNamedAt(path);
  try {
    await makeFolders(place);
    await replaceDurably(place, round.list.copy, list);
    await replaceDurably(place, planName, Buffer.from(serialiseRound(round, sha256)));
  } catch (cause) {
    throw toRoundError(cause, 'write', path);
  }
  await clearOldList(place, before);
}

/** Other desks may be planning too: only what the old plan named goes, and only where today's names another. */
async function clearOldList(place: string, old: string | undefined): Promise<void> {
  const now = await listNamedAt(join(place, planName));
  if (old === undefined || now === undefined || now === old) return;
  await removeFile(join(place, old)).catch(() => {});
}

/** The name of the copied list that a plan gives, without looking at the rest of it. */
async function listNamedAt(path: string): Promise<string | undefined> {
  try {
    const plan = JSON.parse((await readRegularFile(path, largestPlanBytes)).toString('utf8')) as {
      list?: { copy?: unknown };
    } | null;
    const copy = plan?.list?.copy;
    return typeof copy === 'string' && copyPattern.test(copy) ? copy : undefined;
  } catch {
    return undefined;
  }
}

async function replaceDurably(place: string, name: string, bytes: Uint8Array): Promise<void> {
  const temporary = join(place, `${name}.${randomBytes(6).toString('hex')}.new`);
  try {
    await writeDurably(temporary, bytes);
    await moveInto(temporary, join(place, name));
  } catch (cause) {
    await removeFile(temporary).catch(() => {});
    throw cause;
  }
}

const sha256Of = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
