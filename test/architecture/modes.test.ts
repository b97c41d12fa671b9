import { readdirSync, readFileSync } from 'node:fs';
import { expect, it } from 'vitest';

const sources = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .map((path) => `src/${path.replaceAll('\\', '/')}`)
  .filter((path) => path.endsWith('.ts'));

// "If it is not in-OS it is recovery" would warn wrongly of a third mode, and no compiler would say so.
it('no source compares with one mode: it asks modeTraits, a record of all modes, or switches over all', () => {
  expect(sources.length).toBeGreaterThan(200);
  const comparing = sources.filter((path) => /[!=]== '(in-os|recovery)'/.test(readFileSync(path, 'utf8')));
  expect(comparing).toEqual([]);
});
