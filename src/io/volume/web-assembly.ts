/** As much of the language's WebAssembly as is used here; it is in no library of types that Node code uses. */
interface WebAssemblyHost {
  readonly Memory: new (pages: { readonly initial: number }) => { readonly buffer: ArrayBuffer };
  compile(bytes: Uint8Array): Promise<object>;
  instantiate(module: object, imports: object): Promise<object>;
}

export const webAssembly = (globalThis as unknown as { readonly WebAssembly: WebAssemblyHost }).WebAssembly;
