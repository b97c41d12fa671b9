import { expect } from 'vitest';
import { readWhole, withFolder } from '../fixtures/archives/read-bytes.ts';
import { needs } from '../outside/needs.ts';
import { fuzzArchives, toCase } from './fuzz-archives.ts';

// The readers that nobody here wrote: Info-ZIP unzip, 7-Zip, Python's zipfile. `npm run fuzz` runs this for longer.
needs({ unzip: 'unzip', '7z': '7zip', python3: 'python3' })(
  'mutated sound archives: no crash, and where we say fine three other readers agree',
  async () => {
    const result = await withFolder((folder) =>
      fuzzArchives({
        seed: 20260914,
        mostCases: 400,
        mostMs: 40_000,
        folder,
        more: [],
        read: async (path) => toCase(await readWhole(path)),
      }),
    );
    expect(result.faults).toEqual([]);
    expect(result.cases).toBeGreaterThan(50);
    expect(result.fine).toBeGreaterThan(0);
  },
);
