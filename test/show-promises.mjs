// `npm run promises`: each promise and the tests that hold it, by the tags that the tests carry. Loads all tests and
// runs none.
import { createVitest } from 'vitest/node';
import { root } from '../bin/set-up.mjs';
import { promises } from './promises.mjs';

const vitest = await createVitest('test', { config: 'test/vitest.config.ts', root, watch: false });
const { testModules: modules } = await vitest.collect();
const tests = modules.flatMap((module) =>
  [...module.children.allTests()].map(({ fullName, tags }) => ({ file: module.relativeModuleId, fullName, tags })),
);
await vitest.close();

const rows = promises.map(({ name, description }, index) => {
  const holding = tests.filter(({ tags }) => tags.includes(name)).map(({ file, fullName }) => `${file}: ${fullName}`);
  const heading = `${index + 1}. ${description}  [${name}]`;
  return { isHeld: holding.length > 0, text: [heading, ...(holding.length > 0 ? holding : ['NO TEST'])].join('\n   ') };
});
process.stdout.write(`${rows.map(({ text }) => text).join('\n\n')}\n`);
process.exitCode = rows.every(({ isHeld }) => isHeld) ? 0 : 1;
