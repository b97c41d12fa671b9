import { describe, expect, it } from 'vitest';
import { causeOf, inBlocks, saidOnce } from '../../../src/core/findings/blocks.ts';
import { catalogue, entryOf, type FindingCode } from '../../../src/core/findings/catalogue.ts';
import { type Finding, finding, severityOf } from '../../../src/core/findings/finding.ts';
import { renderFindings, renderVerdict } from '../../../src/render/text/render-findings.ts';

const look = { colour: false, columns: 80 };
const cutOff = finding('archive/cut-off', '', { fileBytes: 10, reach: undefined });
const noHash = finding('archive/no-published-hash', '');
const part = finding('archive/name-of-part-download', 'x.zip.part', { ending: '.part' });
const open = (name: string, code = 'archive/no-published-hash') =>
  finding('shelf/unproven-when-added', name, { code, title: 'No published hash to compare with' });

describe('one cause', () => {
  it('takes what follows from it under itself, through every step, and counts once', () => {
    const all = [noHash, cutOff, part];
    expect(inBlocks(all).map(({ alike, follows }) => [alike[0]?.code, follows.map(({ code }) => code)])).toEqual([
      ['archive/name-of-part-download', ['archive/cut-off', 'archive/no-published-hash']],
    ]);
    expect(renderVerdict('not-ready', all, look)).toBe('NOT READY: 1 stop.\n');
    expect(renderFindings(all, look)).toMatch(/From this follows: .*cut off\s+\[archive\/cut-off\]/s);
  });

  it('never hides anything behind what weighs less', () => {
    const wiped = { ...cutOff, acceptedBecause: 'tried' };
    expect(severityOf(wiped)).toBe('caution');
    expect(causeOf(noHash, [wiped, noHash])).toBeUndefined();
  });

  it('is found whatever else is there, and no finding is lost or shown twice', () => {
    const codes = Object.keys(catalogue) as FindingCode[];
    const all = codes.map((code): Finding => ({ code, subject: 'x', facts: {} }));
    const blocks = inBlocks(all);
    const shown = blocks.flatMap(({ alike, follows }) => [...alike, ...follows]);
    expect(shown.map(({ code }) => code).toSorted()).toEqual(codes.toSorted());
    for (const { alike, follows } of blocks)
      for (const found of follows)
        expect(rank(found.code), found.code).toBeGreaterThanOrEqual(rank((alike[0] as Finding).code));
  });
});

const rank = (code: FindingCode): number => ['stop', 'unproven', 'caution', 'note'].indexOf(entryOf(code).severity);

describe('what is true of several', () => {
  const names = Array.from({ length: 14 }, (_, number) => `reed.${1700 + number}_5B_second_K2.zip`);

  it('is said once, with all their names', () => {
    const said = renderFindings(
      names.map((name) => open(name)),
      look,
    );
    expect(said.match(/Why:/g)).toHaveLength(1);
    for (const name of names) expect(said.split(name).length, name).toBe(2);
    expect(said.split('\n').length).toBeLessThan(24);
  });

  it('is not said of one of which something else is true', () => {
    const others = [open('a.zip'), open('b.zip', 'update/signature-unsupported'), open('c.zip')];
    expect(saidOnce(others).map(({ finding: { subject }, alsoOf }) => [subject, alsoOf])).toEqual([
      ['a.zip', ['c.zip']],
      ['b.zip', []],
    ]);
    const accepted = { ...open('d.zip'), acceptedBecause: 'known' };
    expect(inBlocks([...others, accepted])).toHaveLength(2);
  });
});
