import { webAssembly } from './web-assembly.ts';

/** Memory that starts at a page, which is what a direct read wants and a Buffer does not promise, and that goes back to the system. */
export const allocateAligned = (bytes: number): Uint8Array =>
  new Uint8Array(new webAssembly.Memory({ initial: Math.ceil(bytes / 65_536) }).buffer).subarray(0, bytes);
