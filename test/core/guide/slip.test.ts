import { describe, expect, test } from 'vitest';
import { catalogue, isFindingCode } from '../../../src/core/findings/catalogue.ts';
import { prepareLine } from '../../../src/core/guide/guide-course.ts';
import type { FoundPackage } from '../../../src/core/guide/package-question.ts';
import type { Answers } from '../../../src/core/guide/question.ts';
import { asksForLeftovers, slipOf, writtenOn } from '../../../src/core/guide/slip.ts';
import { sampleFamilies } from '../label/families.ts';

const families = await sampleFamilies();

const at = (name: string): FoundPackage => ({ path: `/shelf/${name}`, name, place: 'on the shelf' });

const packages = [
  'reed.746_5B_second_K2.zip',
  'basalt_86_24p_m3_r1190.zip',
  'reed.1717_5B_second_home.zip',
  'reed.1717_5B_second_K2 (1).zip',
  'reed.1717_5B_second_K2.zip',
].map(at);

const slipWith = (answers: Answers) => slipOf({ families, packages, who: 'I. Marlow' }, answers);

const running = { 'way.starts': 'yes', 'way.air': 'cannot', 'way.settings': 'yes' };
const label = { label: 'K2-second 75/5B', 'label.again': 'K2-second 75/5B' };

describe('the slip of one stick', () => {
  test('makes an order when label, way and package stand there, and not before', () => {
    const chosen = { package: '/shelf/reed.1717_5B_second_K2.zip' };
    expect(slipWith({ ...label, ...running, ...chosen }).order).toEqual({
      archivePath: '/shelf/reed.1717_5B_second_K2.zip',
      mode: 'in-os',
      label: 'K2-second 75/5B',
      running: undefined,
      leftovers: 'stop',
      accepted: {},
      published: {},
      signers: [],
    });
    for (const missing of [label, running, chosen])
      expect(
        slipWith(writtenOn({ ...label, ...running, ...chosen }, without(missing))).order,
        JSON.stringify(missing),
      ).toBeUndefined();
  });

  test('says which letters are in doubt while the label is typed', () => {
    const doubtful = (text: string) =>
      slipWith({ label: text })
        .label.stretches.filter(({ isDoubtful }) => isDoubtful)
        .map((stretch) => stretch.text);
    expect(doubtful('K2-second 75/SB')).toEqual(['S']);
    expect(doubtful('К2-second 75/5B')).toEqual(['К']);
    expect(doubtful('K2-second 75/5B')).toEqual([]);
    // Half a label is no fault of anybody's.
    expect(slipWith({ label: 'K2-second 7' }).label).toMatchObject({ isBegun: true });
    expect(slipWith({ label: 'K2-second 75/5B' }).label).toMatchObject({ isBegun: false, isNew: false });
  });

  test('offers the exact form where the label is written otherwise, and takes nothing by itself', () => {
    const { label: part } = slipWith({ label: '"K2-second 75/5B"', 'label.again': '"K2-second 75/5B"' });
    expect(part.exact).toBe('K2-second 75/5B');
    expect(part.isSure).toBe(false);
  });

  test('holds what its maker publishes, which goes with another package, and no order where it cannot be', () => {
    const chosen = { ...label, ...running, package: '/shelf/reed.1717_5B_second_K2.zip' };
    const hash = 'a'.repeat(64);
    const said = writtenOn(chosen, {
      'published.hash': hash,
      'published.bytes': '1,234',
      signers: '[{"name":"m.pem"}]',
    });
    const { order, isPublishedWrong } = slipWith(said);
    expect(isPublishedWrong).toBe(false);
    expect(order).toMatchObject({ published: { hash, bytes: '1,234' }, signers: [{ name: 'm.pem' }] });
    expect(prepareLine({ ...(order as NonNullable<typeof order>), sticks: ['E:'] })).toContain(
      `--expect-sha256 ${hash} --expect-bytes 1234 --signer m.pem --stick E:`,
    );
    for (const wrong of [{ 'published.hash': hash.slice(1) }, { 'published.bytes': '1.2 GB' }])
      expect(slipWith(writtenOn(said, wrong))).toMatchObject({ isPublishedWrong: true, order: undefined });
    expect(Object.keys(writtenOn(said, { package: '/shelf/other.zip' }))).not.toContain('published.hash');
  });

  test('takes the model out of a plate that was pasted when it was picked', () => {
    const plate = 'Model: K2-second 75/5B\nInput: 100-240V~ 50/60Hz\nS/N 20260114';
    const { label: open } = slipWith({ label: plate });
    expect(open.plate?.choices?.[0]?.value).toBe('K2-second 75/5B');
    expect(open.isSure).toBe(false);
    const { label: picked } = slipWith({ label: plate, 'label.line': 'K2-second 75/5B' });
    expect(picked).toMatchObject({ text: 'K2-second 75/5B', isSure: true });
  });

  test('lists what fits, then what a copy was called, then what is nearly right, then other panels', () => {
    const judged = slipWith(label).packages.map(({ found, fit, copy }) => [found.name, fit.answer, copy?.original]);
    expect(judged).toEqual([
      ['reed.1717_5B_second_K2.zip', 'fits', undefined],
      ['reed.746_5B_second_K2.zip', 'fits', undefined],
      ['reed.1717_5B_second_K2 (1).zip', 'cannot-tell', 'reed.1717_5B_second_K2.zip'],
      ['reed.1717_5B_second_home.zip', 'differs', undefined],
      ['basalt_86_24p_m3_r1190.zip', 'differs', undefined],
    ]);
  });

  test('makes a family of what lies on the table, when the label was read twice', () => {
    const facts = { families: [], packages: [at('quartz_qb_r2_20240117.zip')], who: 'I. Marlow' };
    const chosen = { label: '75:QB by R2', package: '/shelf/quartz_qb_r2_20240117.zip' };
    expect(slipOf(facts, chosen).table).toBeUndefined();
    const twice = { ...chosen, 'label.again': '75:QB by R2' };
    expect(slipOf(facts, twice).table?.open?.id).toBe('table.parts');
    const told = { ...twice, 'table.parts': 'size=75, series=QB, factory=R2, build=20240117', 'table.where': 'note' };
    expect(slipOf(facts, told).table).toMatchObject({ open: undefined, examples: { family: 'quartz' } });
    // A package that a family knows is not for a label that it does not know.
    const other = { ...twice, package: '/shelf/reed.1717_5B_second_K2.zip' };
    const known = slipOf({ families, packages, who: 'I. Marlow' }, other);
    expect(known.table).toBeUndefined();
    expect(known.packageOf?.family).toBe('sedge');
  });

  test('a reason counts for a stop that can be accepted, and goes when the job becomes another', () => {
    const whole = { ...label, ...running, package: '/shelf/reed.1717_5B_second_K2.zip' };
    const said = { 'accepted.stick/dirty': 'checked twice', 'accepted.label/read-otherwise': 'I say so' };
    expect(slipWith({ ...whole, ...said }).order?.accepted).toEqual({ 'stick/dirty': 'checked twice' });
    expect(slipWith({ ...whole, 'accepted.stick/dirty': 'no' }).order?.accepted).toEqual({});
    expect(writtenOn({ ...whole, ...said }, { label: 'K3-second 75/5B' })).toEqual({
      ...running,
      label: 'K3-second 75/5B',
      package: whole.package,
    });
  });

  test('knows every stop that setting aside or removing may lift', () => {
    const lifted = Object.keys(catalogue).filter((code) => {
      const { severity, todo } = catalogue[code as keyof typeof catalogue];
      return severity === 'stop' && !code.startsWith('verify/') && String(todo).includes('--leftovers');
    });
    expect(lifted.length).toBeGreaterThan(4);
    for (const code of lifted) expect(isFindingCode(code) && asksForLeftovers(code), code).toBe(true);
  });
});

const without = (answers: Answers) => Object.fromEntries(Object.keys(answers).map((id) => [id, undefined]));
