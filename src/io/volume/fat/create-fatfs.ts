import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import * as FatFs from 'js-fatfs';
import { webAssembly } from '../web-assembly.ts';

let compiled: Promise<object> | undefined;

/** A FatFs instance of its own. The program behind it is compiled once, since a stick takes several instances. */
export async function createFatFs(diskio: FatFs.DiskIO): Promise<FatFs.FatFs> {
  compiled ??= compile();
  const module = await compiled;
  // Emscripten's own hook, which the package's types leave out.
  const instantiateWasm = (imports: object, done: (instance: object) => void): object => {
    void webAssembly.instantiate(module, imports).then(done);
    return {};
  };
  const options: FatFs.FatFsOptions & { readonly instantiateWasm: typeof instantiateWasm } = {
    diskio,
    instantiateWasm,
  };
  return FatFs.create(options);
}

const compile = async (): Promise<object> =>
  webAssembly.compile(await readFile(createRequire(import.meta.url).resolve('js-fatfs/dist/fatfs.wasm')));
