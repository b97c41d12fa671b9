import { describe, expect, it, test } from 'vitest';
import { judgeFamilyFiles } from '../../../src/core/checks/fit/check-families.ts';
import { checkFit } from '../../../src/core/checks/fit/check-fit.ts';
import { verdictOf } from '../../../src/core/findings/finding.ts';
import { type GuideFacts, type GuideStep, nextOfGuide, prepareLine } from '../../../src/core/guide/guide-course.ts';
import { type Answers, objectionTo, withoutFrom } from '../../../src/core/guide/question.ts';
import { guessTableParts, readTableParts, writeTableParts } from '../../../src/core/guide/table-family.ts';
import { type FleetExamples, proposeFamily, writeFamilyYaml } from '../../../src/core/label/propose-family.ts';
import { readLabel, readPackageName } from '../../../src/core/label/read-label.ts';
import type { Family } from '../../../src/core/model/family.ts';
import { parseFamily } from '../../../src/io/families/parse-family.ts';
import { sampleFamilies } from '../label/families.ts';

const families = await sampleFamilies();
const empty: GuideFacts = { families: [], packages: [], who: 'I. Marlow' };

/** The family as it would be read from the file that is written for these examples. */
function familyOf(examples: FleetExamples): Family {
  const result = proposeFamily(examples);
  if (result.proposal === undefined) throw new Error(result.because);
  const judged = judgeFamilyFiles([parseFamily('made.yaml', Buffer.from(writeFamilyYaml(result.proposal)))]);
  expect(judged.findings).toEqual([]);
  const [family] = judged.families;
  if (family === undefined) throw new Error('no family was read');
  return family;
}

/** Answers as they come; what is not given is answered by what an empty answer stands for. */
function drive(
  given: Answers,
  facts: GuideFacts,
): { step: GuideStep; answers: Answers; asked: readonly string[]; facts: GuideFacts } {
  let answers: Answers = {};
  let known = facts;
  const asked: string[] = [];
  for (let turn = 0; turn < 40; turn++) {
    const step = nextOfGuide(known, answers);
    if (step.step === 'make-family') known = { ...known, families: [...known.families, familyOf(step.examples)] };
    else if (step.step === 'ask') {
      const { question } = step;
      const answer = given[question.id] ?? question.otherwise;
      if (answer === undefined) return { step, answers, asked, facts: known };
      expect(objectionTo(question, answer), `${question.id} ${answer}`).toBeUndefined();
      asked.push(question.id);
      answers = { ...answers, [question.id]: answer };
    } else return { step, answers, asked, facts: known };
  }
  throw new Error('it does not end');
}

const inOs = { 'way.starts': 'yes', 'way.air': 'cannot', 'way.settings': 'yes', running: '' };

describe('the guide', () => {
  it('goes from an unknown label and its package to a preparation, with a family made on the way', () => {
    const given = {
      ...inOs,
      label: '75:QB by R2',
      'label.again': '75:QB by R2',
      'package.path': '/tmp/quartz_qb_r2_20240117.zip',
      'table.where': 'release note',
      stick: '/media/stick',
    };
    const { step, asked, facts } = drive(given, empty);
    expect(asked).toHaveLength(10); // and the agreement, which is that of prepare
    expect(step).toMatchObject({ step: 'prepare', job: { mode: 'in-os', label: '75:QB by R2', running: undefined } });
    if (step.step !== 'prepare') return;
    const said = { ...step.job, sticks: [step.job.stick], leftovers: 'stop', accepted: {} } as const;
    expect(prepareLine(said)).toBe(
      'stickwright prepare /tmp/quartz_qb_r2_20240117.zip --mode in-os --label "75:QB by R2" --stick /media/stick',
    );
    expect(prepareLine({ ...said, shelf: '/srv/shelf' })).not.toContain('--shelf');
    expect(prepareLine({ ...said, archivePath: '/srv/shelf of 2025/q.zip', shelf: '/srv/shelf' })).not.toContain(
      '--shelf',
    );
    expect(prepareLine({ ...said, archivePath: 'D:\\shelf\\q.zip', shelf: 'D:\\shelf' })).toContain('--shelf');
    expect(prepareLine({ ...said, archivePath: '/srv/shelf/packages/1/q.zip', shelf: '/srv/shelf' })).toContain(
      ' --shelf /srv/shelf ',
    );
    const [family] = facts.families;
    expect(family).toMatchObject({
      family: 'quartz',
      packages: [{ agree: ['series', 'factory'] }],
      'made-from': { by: 'I. Marlow', 'where-read': { series: 'release note', factory: 'release note' } },
    });
  });

  test('the same answers lead to the same place: what was kept goes on where it was', {
    tags: ['work-goes-on'],
  }, () => {
    const whole = drive(
      {
        ...inOs,
        label: 'K2-second 75/5B',
        'label.again': 'k2-second 75/5b',
        'package.path': '/x/reed.1717_5B_second_K2.zip',
        stick: '/s',
      },
      { ...empty, families },
    );
    expect(whole.step.step).toBe('prepare');
    for (const at of Object.keys(whole.answers)) {
      const kept = withoutFrom(whole.answers, at);
      const next = nextOfGuide(whole.facts, kept);
      expect(next).toMatchObject({ step: 'ask', question: { id: at } });
    }
    expect(nextOfGuide(whole.facts, whole.answers)).toEqual(whole.step);
  });

  test('over the air no stick is made, and the build to expect is said where label and package are known', () => {
    const packages = [{ path: '/x/reed.1717_5B_second_K2.zip', name: 'reed.1717_5B_second_K2.zip', place: 'here' }];
    const given = { 'way.starts': 'yes', 'way.air': 'offers', 'air.label': 'K2-second 75/5B' };
    const { step } = drive(given, { ...empty, families, packages });
    expect(step).toMatchObject({ step: 'end', way: { way: 'over-the-air' } });
    expect(JSON.stringify(step)).toContain('Build reed.1717 is what to expect.');
    expect(drive({ ...given, 'air.label': '' }, { ...empty, packages: undefined }).step.step).toBe('end');
  });

  it('offers what fits first, the newest of it, and none that is for another panel', () => {
    const names = ['reed.702_5B_second_K2.zip', 'reed.1717_5B_second_K2.zip', 'reed.1717_5B_second_K3.zip', 'x.zip'];
    const packages = names.map((name) => ({ path: `/d/${name}`, name, place: 'in the download folder' }));
    const { step } = drive(
      { ...inOs, label: 'K2-second 75/5B', 'label.again': 'K2-second 75/5B' },
      { ...empty, families, packages },
    );
    if (step.step !== 'ask') throw new Error(step.step);
    expect(step.question.choices?.map(({ value }) => value)).toEqual([`/d/${names[1]}`, `/d/${names[0]}`, 'other']);
    expect(step.question.choices?.[0]?.name).toContain('has series 5B, generation SECOND, factory K2');
    expect(step.question.before).toContain('2 not shown, because they are for other panels');
  });

  it('says where two entries differ, and does not take the second', () => {
    const { step } = drive({ ...inOs, label: 'K2-second 75/5B' }, { ...empty, families });
    if (step.step !== 'ask') throw new Error(step.step);
    expect(objectionTo(step.question, 'K2-second 75/SB')).toMatch(/They look alike there\..*\n {10}.{13}\^$/s);
    expect(objectionTo(step.question, 'K2-second 75/5B')).toBeUndefined();
  });

  it('takes the model out of a plate that was pasted, and asks which line where no family knows', () => {
    const plate = 'Model K2-second 75/5B\nSerial 12345678\n100-240 V ~ 50/60 Hz';
    const known = drive({ ...inOs, label: plate }, { ...empty, families });
    if (known.step.step !== 'ask') throw new Error(known.step.step);
    expect(known.step.question.choices?.[0]?.value).toBe('K2-second 75/5B');
    const other = drive({ ...inOs, label: plate, 'label.line': 'Model K2-second 75/5B' }, empty);
    expect(other.step).toMatchObject({ step: 'ask', question: { id: 'package.path' } });
  });

  it('holds a slip likelier than a new kind of panel', () => {
    const { step } = drive(
      { ...inOs, label: 'K2-second 75/SB', 'label.again': 'K2-second 75/SB' },
      { ...empty, families },
    );
    expect(step).toMatchObject({
      step: 'ask',
      question: { id: 'label.really', before: expect.stringContaining('label/possible-misread') },
    });
    // Said to be so on the plate, it is another kind; but a package of a family that is known stays that family's.
    const said = {
      ...inOs,
      label: 'K2-second 75/SB',
      'label.again': 'K2-second 75/SB',
      'label.really': 'yes',
      'package.path': '/x/reed.1717_5B_second_K2.zip',
    };
    expect(drive(said, { ...empty, families }).step).toMatchObject({ step: 'ask', question: { id: 'package.other' } });
  });

  test('a file that is always called the same is never ready, and before a wipe it takes a word', {
    tags: ['doubt-stays'],
  }, () => {
    const given = {
      'way.starts': 'no',
      'way.keep': 'no',
      'way.approved': 'A. Larch',
      label: '86 QX',
      'label.again': '86 QX',
      'package.path': '/tmp/update.zip',
      'table.build': '20240117',
      'table.where': 'the letter that came with it',
      stick: '/media/stick',
    };
    const { step, facts } = drive(given, empty);
    if (step.step !== 'prepare') throw new Error(step.step);
    expect(step.job).toMatchObject({ mode: 'recovery', because: 'the letter that came with it' });
    const [family] = facts.families;
    expect(family).toMatchObject({ packages: [{ pattern: '^update\\.zip$', agree: [] }], build: { scheme: 'date' } });
    const question = {
      label: readLabel('86 QX', facts.families),
      package: readPackageName('update.zip', facts.families),
      families: facts.families,
      familiesNamed: false,
    };
    const kept = checkFit({ ...question, wipes: false });
    expect(kept.map(({ code }) => code)).toEqual(['label/read', 'fit/name-says-nothing', 'fit/family-unconfirmed']);
    expect(verdictOf(kept)).toBe('unproven');
    const wiped = checkFit({ ...question, wipes: true });
    expect(wiped.map(({ code }) => code)).toContain('fit/name-says-nothing-before-wipe');
    expect(verdictOf(wiped)).toBe('not-ready');
  });
});

describe('what lies on the table', () => {
  test.each([
    [
      '75:QB by R2',
      'quartz_qb_r2_20240117.zip',
      'size=75, series=QB, factory=R2, build=20240117',
      ['series', 'factory'],
    ],
    [
      '86 in 24P.M3',
      'basalt_86_24p_m3_r1047.zip',
      'size=86, series=24P, factory=M3, build=r1047',
      ['size', 'series', 'factory'],
    ],
    [
      'K2-second 75/5B',
      'reed.1717_5B_second_K2.zip',
      'series=K2, generation=second, size=75, factory=5B, build=reed.1717',
      ['series', 'generation', 'factory'],
    ],
    [
      'VX+075+EU Rev C',
      'lantern-vx-eu-revc-v3.10.2_20240305.zip',
      'series=VX, size=075, region=EU, revision=C, build=v3.10.2_20240305',
      ['series', 'region', 'revision'],
    ],
    ['65-ZT', 'fw_1.10.2.zip', 'size=65, series=ZT, build=1.10.2', []],
    ['86 QX', 'update.zip', 'size=86, series=QX', []],
  ])('%s and %s', (label, name, line, shared) => {
    const guess = guessTableParts(label, name);
    expect(writeTableParts(guess)).toBe(line);
    expect(guess.shared).toEqual(shared);
    expect(readTableParts(line, label, name)).toEqual({ table: guess });
  });

  test.each([
    ['size', 'is not written like'],
    ['size=76', 'does not stand in the label'],
    ['size=75, size=75', 'twice'],
    ['build=20240117', 'at least one part'],
    ['size=75, build=20240118', 'does not stand in the file name'],
    ['size=75, build=qb', 'reads as no date'],
    ['text=75', 'No part can be called text'],
  ])('refuses %s when it is typed', (line, why) => {
    expect(readTableParts(line, '75:QB by R2', 'quartz_qb_r2_20240117.zip')).toEqual({
      wrong: expect.stringContaining(why),
    });
  });
});
