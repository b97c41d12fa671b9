import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import stringWidth from 'string-width';
import { afterAll, describe, expect, it } from 'vitest';
import type { Finding } from '../../src/core/findings/finding.ts';
import { modes } from '../../src/core/model/mode.ts';
import { renderOutcome } from '../../src/render/text/render-report.ts';
import { prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { makeArchive, panelLabel, requestFor, testPorts } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright last screen-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const mib = 2 ** 20;
const stick = (name: string) =>
  makeFatImage(join(folder, name), 64 * mib, { kind: 'fat32', clusterBytes: 512, partitioned: true });

/** Prepares TARGETS; what was said before the agreement, and the screen that is left. */
async function prepared(targets: readonly string[], mode: (typeof modes)[number], archivePath: string) {
  const proposed: Finding[] = [];
  const request = await requestFor({ archivePath, targets, mode });
  const report = await prepareSticks(request, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
    propose: async (_job, findings, sticks) => {
      proposed.push(...findings, ...sticks.flatMap((one) => one.findings));
    },
    agree: async () => true,
  });
  return { report, proposed, screen: renderOutcome(report, new Set(proposed), { colour: false, columns: 80 }) };
}

describe('the last screen of a preparation', () => {
  it.each(modes)('fits on 80 × 24 with verdict, stick code, tag and the next step: %s', async (mode) => {
    const { report, screen } = await prepared([await stick(`${mode}.img`)], mode, await makeArchive(folder));
    const lines = screen.trimEnd().split('\n');
    // The prompt has a line of its own.
    expect(lines.length).toBeLessThan(24);
    for (const line of lines) expect(stringWidth(line)).toBeLessThanOrEqual(80);
    const code = report.sticks[0]?.manifest?.stick ?? 'none';
    expect(screen).toMatch(/^(READY|UNPROVEN): /m);
    expect(screen).toContain(`Stick code ${code}`);
    expect(screen).toMatch(new RegExp(`On the tag ${code}, ${panelLabel}, ${mode}`));
    // What was found after the writing sends the stick nowhere.
    const spoilt = { ...report, sticks: report.sticks.map((one) => ({ ...one, verdict: 'not-ready' as const })) };
    expect(renderOutcome(spoilt, new Set(), { colour: false, columns: 80 })).not.toMatch(
      /On the tag|^ {2}Next|Into no other/m,
    );
    expect(screen.match(/^ {2}Next /gm)).toHaveLength(1);
    expect(screen).toContain(`Into no other panel: compare its plate with ${panelLabel}.`);
    expect(screen).toContain("The maker's service documents first.");
    expect(screen.includes('EVERYTHING ON THE PANEL IS WIPED')).toBe(mode === 'recovery');
  });

  it('of four sticks names each with its code', async () => {
    const targets = await Promise.all(['a.img', 'b.img', 'c.img', 'd.img'].map(stick));
    const { screen } = await prepared(targets, 'in-os', await makeArchive(folder));
    for (const target of targets) expect(screen.replaceAll(/\n\s+/g, ' ')).toContain(target);
    expect(screen.match(/Stick code/g)).toHaveLength(4);
  });

  it('says once more what stopped one of several, which nobody sees any longer when the others are written', async () => {
    const archivePath = await makeArchive(folder);
    // FAT16, where this panel wants FAT32 for recovery.
    const other = await makeFatImage(join(folder, 'other.img'), 64 * mib, { kind: 'fat16', partitioned: true });
    const { screen } = await prepared([await stick('fine.img'), other], 'recovery', archivePath);
    const [, about = ''] = screen.split(/(?=^ {2}Stick {6})/m).filter((part) => part.startsWith('  Stick '));
    expect(about.replaceAll(/\n\s+/g, ' ')).toContain(other);
    expect(about).toMatch(
      /STOP .*\[stick\/file-system-not-taken\][\s\S]*Do: [\s\S]*Nothing was written\.\nNOT READY: 1 stop/,
    );
    // Alone it was said a moment ago.
    const alone = (await prepared([other], 'recovery', archivePath)).screen;
    expect(alone).toContain('Nothing was written.');
    expect(alone).not.toContain('STOP');
  });
});

describe('what is known before the agreement', () => {
  it('is said before it: that no published hash is there, and that a list cannot be used', async () => {
    const archivePath = await makeArchive(folder);
    const { report, proposed } = await prepared([await stick('hash.img')], 'in-os', archivePath);
    expect(proposed.map(({ code }) => code)).toContain('archive/no-published-hash');
    const all = [...report.findings, ...report.sticks.flatMap(({ findings }) => findings)].map(({ code }) => code);
    expect(all.filter((code) => code === 'archive/no-published-hash')).toHaveLength(1);
  });
});
