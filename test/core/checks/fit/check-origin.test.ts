import { describe, expect, it, test } from 'vitest';
import { judgeFamilyFiles } from '../../../../src/core/checks/fit/check-families.ts';
import { checkFit } from '../../../../src/core/checks/fit/check-fit.ts';
import { checkOrigin, isUnconfirmed, whyNotConfirming } from '../../../../src/core/checks/fit/check-origin.ts';
import { textsOf, verdictOf } from '../../../../src/core/findings/finding.ts';
import { guessTableParts, tableExamples } from '../../../../src/core/guide/table-family.ts';
import { proposeFamily, writeFamilyYaml } from '../../../../src/core/label/propose-family.ts';
import { readLabel, readPackageName } from '../../../../src/core/label/read-label.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import { findOnShelf } from '../../../../src/core/shelf/find-on-shelf.ts';
import { parseFamily } from '../../../../src/io/families/parse-family.ts';
import { shelve } from '../../../fixtures/shelf/shelved.ts';

const label = '75:QB by R2';
const name = 'quartz_qb_r2_20240117.zip';

function made(confirmed = '[]'): Family {
  const table = guessTableParts(label, name);
  const whereRead = { series: 'the release note', factory: 'a letter' };
  const given = { family: 'quartz', label, fileName: name, table, by: 'I. Marlow', whereRead, saidBuild: undefined };
  const { proposal } = proposeFamily(tableExamples(given));
  if (proposal === undefined) throw new Error('it can be proposed');
  const text = writeFamilyYaml(proposal).replace('confirmed: []', `confirmed: ${confirmed}`);
  const { families, findings } = judgeFamilyFiles([parseFamily('quartz.yaml', Buffer.from(text))]);
  expect(findings).toEqual([]);
  return families[0] as Family;
}

const judge = (family: Family, panel = label, file = name) =>
  checkFit({
    ...{ label: readLabel(panel, [family]), package: readPackageName(file, [family]), families: [family] },
    ...{ familiesNamed: false, wipes: false },
  });

describe('a family that was made from what lies on the table', () => {
  test('proves nothing about that, nor about others, until one from elsewhere confirms it', {
    tags: ['doubt-stays'],
  }, () => {
    const family = made();
    expect(verdictOf(judge(family))).toBe('unproven');
    expect(verdictOf(judge(family, '86:QD by R1', 'quartz_qd_r1_20231204.zip'))).toBe('unproven');
    const doubt = judge(family).find(({ code }) => code === 'fit/family-unconfirmed');
    expect(doubt?.subject).toBe(`${name}, on the word of I. Marlow; series: the release note; factory: a letter`);
    expect(textsOf(doubt as NonNullable<typeof doubt>).seen).toContain('factory: read in a letter');
    const confirmed = made(`[{ label: '86:QD by R1', package: quartz_qd_r1_20231204.zip, from: 'room 2.14 took it' }]`);
    expect(isUnconfirmed(confirmed)).toBe(false);
    expect(verdictOf(judge(confirmed))).toBe('ready');
  });

  test('says what does not fit, and which variant it is', () => {
    const why = (panel: string, file: string) => whyNotConfirming({ label: panel, package: file }, made());
    expect(why('86:QD by R1', 'quartz_qd_r3_20231204.zip')).toBe(
      'They do not fit each other by the family file: factory.',
    );
    expect(why('86:QB by R2', 'quartz_qb_r2_20240201.zip')).toContain('made from (QB, R2);');
  });

  test('is not confirmed by a file whose name says nothing', { tags: ['doubt-stays'] }, () => {
    const family = made();
    const silent = { ...family, packages: [{ pattern: '^update\\.zip$', absent: {}, agree: [], examples: [] }] };
    const pair = { label: '86:QD by R1', package: 'update.zip', from: 'room 2.14' };
    expect(whyNotConfirming(pair, silent)).toContain('says nothing of the panel');
    const from = family['made-from'];
    expect(isUnconfirmed({ ...silent, ...(from && { 'made-from': { ...from, confirmed: [pair] } }) })).toBe(true);
  });

  test('is not confirmed by any of the variants that it was made from', { tags: ['doubt-stays'] }, () => {
    const family = made();
    const from = family['made-from'];
    const two = { ...family, ...(from && { 'made-from': { ...from, labels: [label, '86:QD by R1'] } }) };
    const pair = { label: '110:QB by R2', package: name };
    expect(whyNotConfirming(pair, two)).toContain('It is the variant');
    const { 'made-from': _, ...known } = family;
    expect([whyNotConfirming(pair, known), isUnconfirmed(known), checkOrigin(name, known)]).toEqual([
      undefined,
      false,
      [],
    ]);
  });

  it.each([
    ['the same variant, in another size', '86:QB by R2', 'quartz_qb_r2_20240201.zip', 'It is the variant'],
    ['two that do not fit each other', '86:QD by R1', 'quartz_qd_r3_20231204.zip', 'do not fit each other'],
    ['a label that is not read', '86-QD', 'quartz_qd_r1_20231204.zip', 'do not read the label'],
    ['a package of others', '86:QD by R1', 'quarz.zip', 'no package called'],
  ])('is not confirmed by %s', (_what, other, file, why) => {
    expect(whyNotConfirming({ label: other, package: file }, made())).toContain(why);
    expect(isUnconfirmed(made(`[{ label: '${other}', package: ${file}, from: x }]`))).toBe(true);
  });

  test('stays so where its package comes from the shelf', { tags: ['doubt-stays'] }, () => {
    const shelved = shelve(name, []);
    const answer = findOnShelf({ label, running: undefined, families: [made()], packages: [shelved], damaged: [] });
    expect(answer.findings.map(({ code }) => code)).toContain('fit/family-unconfirmed');
  });
});
