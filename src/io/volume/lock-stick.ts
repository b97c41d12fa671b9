import { createHash } from 'node:crypto';
import { readdir, readFile, readlink } from 'node:fs/promises';
import { connect, createServer, type Server } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { ToolError } from '../../core/model/tool-error.ts';
import { type Holder, inUse, lockByFile, parseHolder, type Release } from './lock-by-file.ts';
import { errnoOf } from './os-error.ts';

/**
 * What this process holds: any number of reads join whatever it holds already, and it writes a stick once at a time.
 */
interface Own {
  writes: boolean;
  count: number;
  release: Promise<Release>;
}
const held = new Map<string, Own>();

/**
 * All that unix(7) leaves to an abstract name: Node up to 20 fills a shorter one up with zeros, later ones do not, and
 * another name it is.
 */
const nameLength = 107;

/**
 * Keeps other runs of this program off the stick that IDENTITY names (each of several), until the returned function is
 * called: also from judging by reading what another run is changing. The lock is a name of the machine's that its
 * holder listens on: on Linux one of the abstract ones (unix(7)), on Windows a named pipe. So it is the same for every
 * user and every setting, lies on no disk, and ends with its process, however that ends. Containers with a network of
 * their own do not see each other's. Where there are no such names it is a file. Throws `stick/in-use`, naming the
 * other process.
 */
export async function lockStick(
  identity: string | readonly string[],
  target: string,
  doing: 'read' | 'write' = 'write',
  platform: NodeJS.Platform = process.platform,
): Promise<Release> {
  if (typeof identity !== 'string') return lockEach(identity, target, doing, platform);
  const name = `stickwright-${createHash('sha512').update(identity).digest('hex')}`.slice(0, nameLength);
  const mine = held.get(name);
  if (mine?.writes === true && doing === 'write') throw inUse(target, { pid: process.pid, target });
  const own: Own = mine ?? { writes: false, count: 0, release: take(name, target, platform) };
  held.set(name, own);
  own.count++;
  if (doing === 'write') own.writes = true;
  let isMine = true;
  const release = async (): Promise<void> => {
    if (!isMine) return;
    isMine = false;
    if (doing === 'write') own.writes = false;
    if (--own.count > 0) return;
    if (held.get(name) === own) held.delete(name);
    const letGo = await own.release.catch(() => undefined);
    await letGo?.();
  };
  try {
    await own.release;
    return release;
  } catch (error) {
    await release();
    throw error;
  }
}

async function lockEach(
  identities: readonly string[],
  target: string,
  doing: 'read' | 'write',
  platform: NodeJS.Platform,
): Promise<Release> {
  const taken: Release[] = [];
  const release = async (): Promise<void> => {
    for (const letGo of taken.toReversed()) await letGo();
  };
  try {
    for (const identity of identities) taken.push(await lockStick(identity, target, doing, platform));
    return release;
  } catch (error) {
    await release();
    throw error;
  }
}

function take(name: string, target: string, platform: NodeJS.Platform): Promise<Release> {
  const holder: Holder = { pid: process.pid, target };
  if (platform === 'linux') return lockByName(`\0${name}`, holder);
  if (platform === 'win32') return lockByName(`\\\\.\\pipe\\${name}`, holder);
  return lockByFile(name, holder);
}

/** A holder that ends between the two looks has freed the name. */
const attempts = 8;

async function lockByName(address: string, holder: Holder): Promise<Release> {
  for (let attempt = 0; attempt < attempts; attempt++) {
    const server = (await isHeldPipe(address)) ? undefined : await listen(address, holder);
    if (server !== undefined) return () => new Promise((resolve) => server.close(() => resolve()));
    const other = (await askHolder(address)) ?? (await holderInProc(address));
    if (other !== 'gone') throw inUse(holder.target, other);
    await wait(20 * attempt);
  }
  throw inUse(holder.target, undefined);
}

/**
 * Windows lets nobody listen on a pipe's name beside the first one (CreateNamedPipe: FILE_FLAG_FIRST_PIPE_INSTANCE,
 * which libuv sets); Wine 8 does. So whoever comes looks first. The pipe of a process that is ending may take a call
 * and say nothing: then listening tells.
 */
const isHeldPipe = async (address: string): Promise<boolean> =>
  address.startsWith('\\\\.\\pipe\\') && typeof (await askHolder(address)) === 'object';

/** Undefined where the name is taken. */
function listen(address: string, holder: Holder): Promise<Server | undefined> {
  return new Promise((resolve, reject) => {
    const server = createServer((asking) => {
      asking.on('error', () => {}); // whoever asked went away
      asking.end(JSON.stringify(holder));
    });
    server.once('error', (error) => {
      if (errnoOf(error) === 'EADDRINUSE') resolve(undefined);
      // Windows does not even let another user look at a name that is taken.
      else if (errnoOf(error) === 'EACCES') resolve(undefined);
      else reject(noLock(holder.target, error));
    });
    server.listen(address, () => {
      server.unref();
      resolve(server);
    });
  });
}

const answerMs = 2000;
const longestAnswer = 8192;

/** Undefined where it does not say: it may be busy. */
function askHolder(address: string): Promise<Holder | undefined | 'gone'> {
  return new Promise((resolve) => {
    let said = '';
    const asking = connect(address);
    const end = (answer: Holder | undefined | 'gone'): void => {
      asking.destroy();
      resolve(answer);
    };
    asking.setEncoding('utf8').setTimeout(answerMs, () => end(parseHolder(said)));
    asking.on('data', (text: string) => {
      said += text;
      if (said.length > longestAnswer) end(undefined);
    });
    asking.on('end', () => end(parseHolder(said)));
    asking.on('error', (error) =>
      end(['ECONNREFUSED', 'ENOENT'].includes(errnoOf(error) ?? '') ? 'gone' : parseHolder(said)),
    );
  });
}

/**
 * Who listens on an abstract name, as the kernel tells it (proc(5): net/unix, and the open files of each process),
 * where there was no answer: the holder may be too busy or stopped, or it was killed while it was asked, and is gone.
 * Undefined where the kernel does not tell: elsewhere than on Linux, or of another user's process.
 */
async function holderInProc(address: string): Promise<Holder | undefined | 'gone'> {
  const rows = (await readFile('/proc/net/unix', 'utf8').catch(() => undefined))?.split('\n');
  if (rows === undefined) return undefined;
  // Who is waiting for an answer stands there, too, under the same name.
  const named = rows.filter((row) => row.endsWith(` @${address.slice(1)}`));
  if (named.length === 0) return 'gone';
  const sockets = new Set(named.map((row) => `socket:[${row.trim().split(/\s+/)[6]}]`));
  for (const pid of (await readdir('/proc')).filter((name) => /^\d+$/.test(name))) {
    const files = await readdir(`/proc/${pid}/fd`).catch(() => []);
    for (const file of files) {
      const open = await readlink(`/proc/${pid}/fd/${file}`).catch(() => '');
      if (sockets.has(open)) return { pid: Number(pid), target: '' };
    }
  }
  return undefined;
}

const noLock = (target: string, cause: unknown): ToolError =>
  new ToolError(
    'stick/in-use',
    target,
    `it cannot be made sure that no other run is using this stick (${errnoOf(cause) ?? String(cause)})`,
    'Nothing was touched. Run it in an ordinary terminal of this computer: a sandbox or container forbids what this takes, a local socket.',
    cause,
  );
