import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';

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

function cruise(): CruiseResult {
  const args = ['node_modules/dependency-cruiser/bin/dependency-cruise.mjs', '--config', 'test/architecture/rooms.cjs'];
  const done = spawnSync(process.execPath, [...args, '--output-type', 'json', 'src'], {
    encoding: 'utf8',
    maxBuffer: 2 ** 28,
  });
  return JSON.parse(done.stdout) as CruiseResult;
}

describe('the rooms', () => {
  const { summary } = cruise();

  it('are looked at: a cruiser that cannot read the language sees nothing and is content', () => {
    expect(summary.totalCruised).toBeGreaterThan(100);
  });

  it('know only the rooms they may know', () => {
    expect(summary.violations.map(({ rule, from, to }) => `${rule.name}: ${from} → ${to}`)).toEqual([]);
  });
});
