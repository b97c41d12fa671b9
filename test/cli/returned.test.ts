import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { reportSchema } from '../../src/core/report/report-schema.ts';
import { parseRecordLine } from '../../src/core/rounds/records/own-digests.ts';
import { sha256 as sha256OfText } from '../../src/io/digest/node-digest.ts';
import { stickwright } from '../fixtures/command.ts';
import { makePublishedArchive, packageName, panelLabel } from '../fixtures/desk.ts';

let folder: string;
let archive: string;
let own: string;
let stick: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright returned cli-'));
  archive = await makePublishedArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const stops = ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'];
const accepted = stops.flatMap((code) => ['--accept', `stick/${code}`, '--because', 'a folder in a test']);

/** A folder takes the place of a mounted stick. */
beforeEach(() => {
  own = mkdtempSync(join(folder, 'case '));
  stick = join(own, 'the stick');
  mkdirSync(stick);
  const words = [
    '--mode',
    'in-os',
    '--label',
    panelLabel,
    '--running',
    'reed.746',
    '--stick',
    stick,
    '--yes',
    ...accepted,
  ];
  expect([0, 4]).toContain(stickwright(['prepare', archive, ...words]).exitCode);
  mkdirSync(join(stick, 'LOST.DIR'));
  writeFileSync(join(stick, 'update.log'), 'failed\n');
  writeFileSync(join(stick, 'holiday.jpg'), 'somebody’s');
});

const verify = (...words: readonly string[]) => stickwright(['verify', stick, '--returned', ...words]);

describe('verify --returned', () => {
  it('says in words whose it was, what was left on it and what that means', () => {
    const { exitCode, stdout } = verify();
    expect(exitCode).toBe(1);
    expect(stdout).toMatch(/Stick code +[A-Z0-9]{3}-[A-Z0-9]{3}/);
    expect(stdout).toMatch(/Made for +K2-second 75\/5B/);
    expect(stdout).toMatch(/It has been in a panel, which left/);
    expect(stdout).toMatch(/PREPARE ANEW/);
    expect(stdout.replace(/\s+/g, ' ')).toMatch(/Next stickwright verify ".*the stick" --returned --clear/);
  });

  it('is one JSON document with all that lies on the stick and what clearing would do', () => {
    const { exitCode, stdout } = verify('--json');
    const document = reportSchema.parse(JSON.parse(stdout));
    expect([document.command, document.verdict, document.exitCode, exitCode]).toEqual(['verify', 'not-ready', 1, 1]);
    const returned = document.returned as {
      conclusion: string;
      left: { path: string }[];
      clearing: { state: string; plan: { goes: { path: string }[]; stays: { path: string }[] } };
    };
    expect(returned.conclusion).toBe('prepare-anew');
    expect(returned.left.map(({ path }) => path).sort()).toEqual(['LOST.DIR', 'update.log']);
    expect(returned.clearing.state).toBe('not-asked');
    expect(returned.clearing.plan.goes.map(({ path }) => path)).toContain(packageName);
    expect(returned.clearing.plan.stays.map(({ path }) => path).sort()).toEqual(['holiday.jpg', 'update.log']);
  });

  it('asks nobody where nobody is there, and does nothing then', () => {
    for (const words of [['--clear'], ['--clear', '--json']]) {
      const { exitCode, stdout, stderr } = verify(...words);
      expect(exitCode).toBe(2);
      expect(stdout + stderr).toMatch(/Nobody is here to agree/);
    }
    expect(existsSync(join(stick, 'stickwright/manifest.json'))).toBe(true);
  });

  it('clears with --yes, shows each path, keeps the logs at the desk and notes it in the round', () => {
    const round = join(own, 'district.round');
    mkdirSync(round);
    const kept = join(own, 'kept here');
    const { exitCode, stdout } = stickwright(
      ['verify', stick, '--clear', '--yes', '--keep-left', kept, '--who', 'A. Person'],
      { STICKWRIGHT_ROUND: round },
    );
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(new RegExp(`DELETE +${packageName}`));
    expect(stdout).toMatch(/stays +holiday\.jpg/);
    expect(stdout.split('stick/not-a-removable-drive-agreed')).toHaveLength(2); // said once, before the plan
    expect(stdout).toMatch(/Cleared, and looked at again\. It is EMPTY of firmware/);
    expect(readdirSync(stick)).toEqual(['holiday.jpg']);
    const [at = ''] = readdirSync(kept);
    expect(readFileSync(join(kept, at, 'update.log'), 'utf8')).toBe('failed\n');

    const [file = ''] = readdirSync(join(round, 'records'));
    const line = readFileSync(join(round, 'records', file), 'utf8').trim();
    const reading = parseRecordLine(line, sha256OfText);
    expect(reading.state === 'whole' && reading.document).toMatchObject({
      kind: 'returned',
      who: 'A. Person',
      state: 'changed',
      left: ['LOST.DIR', 'update.log'],
      cleared: true,
    });
    expect(stickwright(['verify', stick]).exitCode).toBe(1);
    const again = verify('--clear', '--yes');
    expect(again.exitCode).toBe(1);
    expect(again.stdout).toMatch(/nothing on it that the tool may clear/);
  });

  it('is null in the verdict of a JSON document when it is cleared: it is neither ready nor not', () => {
    const { exitCode, stdout } = verify('--clear', '--yes', '--json');
    expect(exitCode).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({
      verdict: null,
      exitCode: 0,
      returned: { clearing: { state: 'cleared' } },
    });
  });

  it('keeps nothing on the stick itself, and takes no round that is not there', () => {
    const before = readdirSync(stick).sort();
    expect(verify('--keep-left', join(stick, 'logs')).exitCode).toBe(2);
    expect(verify('--clear', '--yes', '--round', join(own, 'none.round')).exitCode).toBe(2);
    expect(readdirSync(stick).sort()).toEqual(before);
  });
});
