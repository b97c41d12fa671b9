import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import * as FatFs from 'js-fatfs';
import { webAssembly } from '../web-assembly.ts';

let compiled: Promise<object> | undefined;

/**
 * A FatFs instance of its own. The program behind it is compiled once, since a stick takes several instances. AT (RFC 3339)
 * stands in for the clock, and is told in UTC.
 */
export async function createFatFs(diskio: FatFs.DiskIO, at?: string): Promise<FatFs.FatFs> {
  compiled ??= compile();
  const module = await compiled;
  // Emscripten's own hook, which the package's types leave out.
  const instantiateWasm = (imports: object, done: (instance: object) => void): object => {
    const chosen = at === undefined ? imports : withClock(imports, readsAsUtc(at));
    void webAssembly.instantiate(module, chosen).then(done);
    return {};
  };
  const options: FatFs.FatFsOptions & { readonly instantiateWasm: typeof instantiateWasm } = {
    diskio,
    instantiateWasm,
  };
  return FatFs.create(options);
}

/**
 * FatFs asks for the time through the only import that takes no argument (emscripten_date_now; a test holds that), and tells
 * it in the zone of this machine.
 */
function withClock(imports: object, nowMs: number): object {
  const [[name = '', functions] = []] = Object.entries(imports as Record<string, Record<string, unknown>>);
  const replaced = Object.entries(functions ?? {}).map(([key, value]) => {
    const isClock = typeof value === 'function' && value.length === 0;
    return [key, isClock ? () => nowMs : value] as const;
  });
  return { [name]: Object.fromEntries(replaced) };
}

/** The moment whose local time reads as AT does in UTC. (An hour off in the hour that a zone leaves out in spring.) */
function readsAsUtc(at: string): number {
  const date = new Date(at);
  return new Date(
    date.getUTCFullYear(),
    date.getUTCMonth(),
    date.getUTCDate(),
    date.getUTCHours(),
    date.getUTCMinutes(),
    date.getUTCSeconds(),
  ).getTime();
}

const compile = async (): Promise<object> =>
  webAssembly.compile(await readFile(createRequire(import.meta.url).resolve('js-fatfs/dist/fatfs.wasm')));
