import { setMaxListeners } from 'node:events';
import { availableParallelism } from 'node:os';
import type { Digesting, FilePlace, PlaceDigest, PlacesToDigest } from './digest.ts';
import { DigestThread, type ThreadOutcome } from './digest-thread.ts';

/** More threads would wait for the same memory and the same stick. */
const mostThreads = 4;
/** Files are handed over together up to about this size: a message costs more than a small file. */
const orderBytes = 2 ** 20;
const orderFiles = 64;

type Outcome = { readonly digest: PlaceDigest } | { readonly error: unknown };

/** Positions in the list of places: one large file, or small ones that are handed over together. */
type Order = readonly number[];

/** This thread takes part. Others are started when all that there are have something to do, or soon will have. */
export function startAsideDigesting(): Required<Pick<Digesting, 'digestPlaces' | 'getReady' | 'whenReady'>> {
  const threads = new Set<DigestThread>();
  const most = Math.min(availableParallelism(), mostThreads);
  const startThread = (): DigestThread => {
    const thread: DigestThread = new DigestThread(threads.size === 0 ? 'here' : 'aside', () => threads.delete(thread));
    threads.add(thread);
    return thread;
  };
  const threadForWork = (): DigestThread => {
    // Among equals another one rather than this, which has more to do than to hash.
    const idlest = [...threads].reverse().sort((a, b) => a.busyBytes - b.busyBytes)[0];
    return idlest !== undefined && (idlest.busyBytes === 0 || threads.size >= most) ? idlest : startThread();
  };
  const getReady = (): void => {
    while (threads.size < most) startThread();
  };
  const whenReady = async (): Promise<void> => {
    getReady();
    await Promise.all([...threads].map((thread) => thread.whenReady()));
  };
  const digestPlaces = async (work: PlacesToDigest): Promise<readonly Outcome[]> => {
    work.signal?.throwIfAborted();
    if (work.signal !== undefined) setMaxListeners(0, work.signal); // every order listens, and many are on their way
    const orders = makeOrders(work.places);
    const outcomes: Outcome[] = new Array(work.places.length);
    const lane = async (): Promise<void> => {
      for (let order = orders.shift(); order !== undefined; order = orders.shift()) {
        const answers = await threadForWork().carryOut(toThread(order, work), work);
        work.signal?.throwIfAborted();
        for (const [at, index] of order.entries()) outcomes[index] = await toOutcome(answers[at], work, index);
      }
    };
    // All lanes end before an interruption is told: whoever hears it may close the volume.
    const ends = await Promise.allSettled(Array.from({ length: most }, lane));
    const failed = ends.find((end): end is PromiseRejectedResult => end.status === 'rejected');
    if (failed !== undefined) throw failed.reason;
    return outcomes;
  };
  return { digestPlaces, getReady, whenReady };
}

/** The largest first, so that no thread is left with a large one when all else is done. */
function makeOrders(places: PlacesToDigest['places']): Order[] {
  const bytesOf = (index: number): number => places[index]?.bytes ?? 0;
  const orders: number[][] = [];
  let room = 0;
  for (const index of [...places.keys()].sort((a, b) => bytesOf(b) - bytesOf(a))) {
    const last = orders.at(-1);
    if (last !== undefined && bytesOf(index) <= room && last.length < orderFiles) last.push(index);
    else {
      orders.push([index]);
      room = orderBytes;
    }
    room -= bytesOf(index);
  }
  return orders;
}

const placeAt = ({ places }: PlacesToDigest, index: number): FilePlace => {
  const found = places[index]?.place;
  if (found === undefined) throw new Error('an order for a file that is not there');
  return found;
};

const toThread = (order: Order, work: PlacesToDigest) => ({
  places: order.map((index) => {
    const { path, flags, spans } = placeAt(work, index);
    return { path, flags, spans };
  }),
  crc: work.crc,
  bytes: order.reduce((sum, index) => sum + (work.places[index]?.bytes ?? 0), 1),
});

async function toOutcome(answer: ThreadOutcome | undefined, work: PlacesToDigest, index: number): Promise<Outcome> {
  if (answer === undefined) throw new Error('a thread gave no answer');
  if ('digest' in answer) return answer;
  const { code, message } = answer.failure;
  const error = Object.assign(new Error(message), code === undefined ? {} : { code });
  return { error: await placeAt(work, index).explain(error) };
}
