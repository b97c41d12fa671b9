import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { describe, expect, it, test } from 'vitest';

interface CruiseResult {
  readonly summary: {
    readonly totalCruised: number;
    readonly violations: readonly {
      readonly rule: { readonly name: string };
      readonly from: string;
      readonly to: string;
    }[];
  };
}

type Order = readonly (readonly [folders: readonly string[], reason: string])[];
const { coreOrder, ordersWithin } = createRequire(import.meta.url)('./core-order.cjs') as {
  readonly coreOrder: Order;
  readonly ordersWithin: Readonly<Record<string, Order>>;
};

const foldersIn = (folder: string): readonly string[] =>
  readdirSync(folder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map(({ name }) => name)
    .toSorted();

function cruise(): CruiseResult {
  const args = [
    'node_modules/dependency-cruiser/bin/dependency-cruise.mjs',
    '--config',
    'test/architecture/layers.cjs',
  ];
  const done = spawnSync(process.execPath, [...args, '--output-type', 'json', 'src'], {
    encoding: 'utf8',
    maxBuffer: 2 ** 28,
  });
  return JSON.parse(done.stdout) as CruiseResult;
}

describe('the layers', () => {
  const { summary } = cruise();

  it('are looked at: a cruiser that cannot read the language sees nothing and is content', () => {
    expect(summary.totalCruised).toBeGreaterThan(100);
  });

  test('start programs at one door: nothing else names what could, and bin starts none for a person', {
    tags: ['nobody-else'],
  }, () => {
    const files = ['src', 'bin'].flatMap((folder) =>
      readdirSync(folder, { recursive: true, encoding: 'utf8' }).map((file) => `${folder}/${file}`),
    );
    const naming = files.filter(
      (file) =>
        /\.[cm]?[jt]s$/.test(file) &&
        /child_process|node:cluster|process\.(binding|dlopen)|@inquirer\/\w*editor|\beditor\(/.test(
          readFileSync(file, 'utf8'),
        ),
    );
    // set-up installs and builds for a contributor; it starts this very Node and nothing else.
    const doors = ['src/io/programs/own-process.ts', 'src/io/programs/run-program.ts'];
    expect(naming.toSorted()).toEqual(['bin/set-up.mjs', ...doors]);
    // Of the two one starts this very Node and nothing else.
    expect(readFileSync(doors[0] ?? '', 'utf8').match(/\b(spawn|exec(?!Argv\b)\w*|fork)\b\(?/g)).toEqual([
      'fork',
      'fork(',
    ]);
    expect(readFileSync('bin/set-up.mjs', 'utf8').match(/\brun\((?!process\.execPath|program,)/g)).toBeNull();
  });

  it('have an order inside core in which every folder has its place', () => {
    const placed = (order: Order): readonly string[] => order.flatMap(([folders]) => folders).toSorted();
    expect(foldersIn('src/core')).toEqual(placed(coreOrder));
    for (const [folder, order] of Object.entries(ordersWithin))
      expect(foldersIn(`src/core/${folder}`)).toEqual(placed(order));
  });

  it('know only the layers they may know', () => {
    expect(summary.violations.map(({ rule, from, to }) => `${rule.name}: ${from} → ${to}`)).toEqual([]);
  });
});
