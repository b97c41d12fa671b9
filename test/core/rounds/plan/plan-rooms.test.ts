import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { severityOf, textsOf, verdictOf } from '../../../../src/core/findings/finding.ts';
import type { Mode } from '../../../../src/core/model/mode.ts';
import type { Room } from '../../../../src/core/model/room.ts';
import { planRooms, type RoomsQuestion, verdictOfRoom } from '../../../../src/core/rounds/plan/plan-rooms.ts';
import { findOnShelf } from '../../../../src/core/shelf/find-on-shelf.ts';
import { roomOf } from '../../../fixtures/rooms.ts';
import { shelve, signedBy } from '../../../fixtures/shelf/shelved.ts';
import { sampleFamilies } from '../../label/families.ts';

// The rules are common practice, no source: trade.md's own words are "absence is information", "recovery wipes, so it
// needs an approval".
const families = await sampleFamilies();
const packages = [
  'reed.608_5B_second_K2.zip',
  'reed.746_5B_second_K2.zip',
  'reed.1717_5B_second_K2.zip',
  'reed.1717_8S_third_home.zip',
  'lantern-vx-eu-revc-v3.0.0_20230110.zip',
  'lantern-vx-eu-revc-v3.6.0_20230822.zip',
  'lantern-vx-eu-revc-v3.12.0_20260820.zip',
  'basalt_86_24p_m3_r1047.zip',
].map((name) => shelve(name, families));

function plan(room: Partial<Room>, wish: Partial<RoomsQuestion> = {}) {
  const rooms = [roomOf({ room: 'Hall', label: 'K2-second 75/5B', running: 'reed.746', ...room })];
  const answer = planRooms({ rooms, mode: 'in-os', families, packages, damaged: [], approvals: new Map(), ...wish });
  const [planned] = answer.rooms;
  if (planned === undefined) throw new Error('one room in, one room out');
  return {
    ...planned,
    codes: planned.findings.map(({ code }) => code),
    names: planned.steps.map((step) => step.package.shelved.record.name),
    about: answer.aboutPackages.map(({ code }) => code),
  };
}

describe('what a room needs', () => {
  it('nothing, where it runs the newest build', () => {
    expect(plan({ running: 'reed.1717' })).toMatchObject({
      state: 'up-to-date',
      target: 'reed.1717',
      names: [],
      codes: [],
    });
  });

  it('one stick with the newest package for exactly its label', () => {
    expect(plan({})).toMatchObject({
      state: 'update',
      target: 'reed.1717',
      names: ['reed.1717_5B_second_K2.zip'],
      wipes: false,
    });
  });

  it('bridges first, each with its package and the maker’s reason', () => {
    const hall = plan({ label: 'VX+075+EU Rev C', running: 'v2.8.0_20221004' });
    expect(hall.names).toEqual([
      'lantern-vx-eu-revc-v3.0.0_20230110.zip',
      'lantern-vx-eu-revc-v3.6.0_20230822.zip',
      'lantern-vx-eu-revc-v3.12.0_20260820.zip',
    ]);
    expect(hall.steps.map(({ because }) => because === undefined)).toEqual([false, false, true]);
    expect(hall.state).toBe('update');
  });

  it('is stopped where a bridge is not on the shelf, and gets no stick', () => {
    expect(plan({ label: 'home-third 65/8S', running: 'reed.365' })).toMatchObject({
      state: 'stopped',
      names: [],
      codes: ['shelf/bridge-not-there'],
    });
  });

  it('is stopped where it runs something newer than the shelf has', () => {
    expect(plan({ running: 'reed.1835' })).toMatchObject({ state: 'stopped', codes: ['round/runs-newer'] });
  });

  it('cannot be told without the running build where a bridge may be due; where none can be, it goes and is unproven', () => {
    expect(plan({ running: undefined })).toMatchObject({
      state: 'cannot-tell',
      codes: ['round/running-unknown'],
      names: [],
    });
    const shop = plan({ label: '86 in 24P.M3', running: undefined });
    expect(shop).toMatchObject({
      state: 'update',
      codes: ['round/running-not-said'],
      names: ['basalt_86_24p_m3_r1047.zip'],
    });
    expect(verdictOfRoom(shop)).toBe('unproven');
    expect(verdictOfRoom(plan({ label: '86 in 24P.M3', running: '1011' }))).toBe('ready');
  });

  it('cannot be told from a build that nobody can read or order', () => {
    expect(plan({ running: 'unknown' })).toMatchObject({ state: 'cannot-tell', codes: ['build/unreadable'] });
    expect(plan({ label: 'VX+075+EU Rev C', running: 'v3.13.0_20260101' })).toMatchObject({
      state: 'cannot-tell',
      codes: ['build/parts-disagree'],
    });
  });

  it('cannot be told from a label that is misread, unknown or lacks a part', () => {
    expect(plan({ label: 'K2-second 7S/5B' })).toMatchObject({
      state: 'cannot-tell',
      codes: ['label/possible-misread'],
    });
    expect(plan({ label: 'COFFEE MACHINE' })).toMatchObject({ state: 'cannot-tell', codes: ['label/unreadable'] });
    expect(plan({}, { families: [] })).toMatchObject({ state: 'cannot-tell', codes: ['label/no-family'] });
  });

  it('cannot be told where nothing on the shelf is for it, and says where a package is for a look-alike', () => {
    expect(plan({ label: 'K3-second 75/5B' })).toMatchObject({ state: 'cannot-tell', codes: ['shelf/none-fits'] });
    const alike = plan({ label: 'VX+075+EU' }, { packages: [shelve('lantern-ux-eu-v3.9.0_20231120.zip', families)] });
    expect(alike).toMatchObject({ state: 'cannot-tell', codes: ['shelf/none-fits', 'round/looks-alike'], names: [] });
  });

  it('cannot be told where several are the newest; the same content under two names is one', () => {
    const rivals = ['reed.1717_5B_second_K2.zip', 'reed.1717_5b_second_k2.zip'];
    const different = rivals.map((name) => shelve(name, families));
    expect(plan({}, { packages: different })).toMatchObject({ state: 'cannot-tell', names: [] });
    const same = rivals.map((name) => shelve(name, families, { sha256: 'a'.repeat(64) }));
    expect(plan({}, { packages: same })).toMatchObject({ state: 'update', codes: [] });
  });

  it('cannot be told where a record that may be its newest is damaged', () => {
    const damaged = [{ id: 'x', files: ['reed.1734_5B_second_K2.zip'], problem: 'it is missing', newer: undefined }];
    expect(plan({}, { damaged })).toMatchObject({ state: 'cannot-tell', codes: ['shelf/record-damaged'] });
    expect(plan({ label: '86 in 24P.M3', running: '900' }, { damaged }).state).toBe('update');
  });

  it('is stopped where its family has no such mode', () => {
    const [sedge] = families.filter(({ family }) => family === 'sedge');
    if (sedge === undefined) throw new Error('no sedge');
    const only = [{ ...sedge, modes: { recovery: sedge.modes.recovery } }] as typeof families;
    expect(plan({}, { families: only })).toMatchObject({ state: 'stopped', codes: ['plan/mode-not-offered'] });
  });

  it('is stopped where the signer of its package changed', () => {
    const signed = [
      shelve('reed.746_5B_second_K2.zip', families, { signature: signedBy('a') }),
      shelve('reed.1717_5B_second_K2.zip', families, { signature: signedBy('b') }),
    ];
    expect(plan({}, { packages: signed })).toMatchObject({ state: 'stopped', codes: ['provenance/signer-changed'] });
  });
});

describe('a room that is wiped', () => {
  const recovery = { mode: 'recovery' } as const;

  it('is stopped without an approval, and goes with one: of the list or of a record', () => {
    expect(plan(recovery)).toMatchObject({
      state: 'stopped',
      wipes: true,
      names: [],
      codes: ['round/wipe-not-approved'],
    });
    expect(plan({ ...recovery, approval: 'M. Aldane' })).toMatchObject({
      state: 'update',
      wipes: true,
      approval: 'M. Aldane',
    });
    const approvals = new Map([['Hall', 'R. Okafor']]);
    expect(plan(recovery, { approvals })).toMatchObject({ state: 'update', wipes: true, approval: 'R. Okafor' });
    expect(plan({}, { mode: 'recovery' }).state).toBe('stopped');
  });

  it('also in in-os mode, where the package itself erases', () => {
    const result = {
      verdict: 'ready' as const,
      findings: [{ code: 'update/wipes-data', severity: 'caution' as const, subject: 'x', title: 'x', seen: 'x' }],
    };
    const erasing = [shelve('reed.1717_5B_second_K2.zip', families, { result })];
    expect(plan({}, { packages: erasing })).toMatchObject({
      state: 'stopped',
      wipes: true,
      codes: ['round/wipe-not-approved'],
    });
    expect(plan({ approval: 'M. Aldane' }, { packages: erasing })).toMatchObject({ state: 'update', wipes: true });
  });

  it('is not wiped for nothing', () => {
    expect(plan({ ...recovery, running: 'reed.1717', approval: 'M. Aldane' })).toMatchObject({
      state: 'up-to-date',
      wipes: false,
      codes: ['round/recovery-not-needed'],
    });
  });
});

describe('rooms and shelf find', () => {
  const labels = [
    'K2-second 75/5B',
    'home-third 65/8S',
    'VX+075+EU Rev C',
    '86 in 24P.M3',
    'K3-second 75/5B',
    'nonsense',
  ];
  const running = [
    'reed.0',
    'reed.746',
    'reed.1717',
    'reed.1826',
    'v2.8.0_20221004',
    'v3.12.0_20260820',
    '900',
    '1047',
  ];

  it('agree on every label and every running build', () => {
    for (const label of labels) {
      for (const build of running) {
        const room = plan({ label, running: build });
        const found = findOnShelf({ label, running: build, families, packages, damaged: [] });
        const verdict = verdictOf(found.findings);
        expect(room.state === 'update' || room.state === 'up-to-date', `${label} ${build}`).toBe(verdict === 'ready');
        if (room.state === 'update') {
          expect(room.names).toEqual(found.steps.map(({ shelved }) => shelved?.record.name));
        }
      }
    }
  });

  it('says what to mind of a package once, however many rooms need it', () => {
    const rooms = ['1', '2', '3'].map((room) => roomOf({ room, label: '86 in 24P.M3', running: '900' }));
    const unproven = [
      { code: 'archive/no-hash', severity: 'unproven' as const, subject: 'x', title: 'no hash', seen: 'x' },
    ];
    const shelved = [
      shelve('basalt_86_24p_m3_r1047.zip', families, { result: { verdict: 'unproven', findings: unproven } }),
    ];
    const answer = planRooms({ rooms, mode: 'in-os', families, packages: shelved, damaged: [], approvals: new Map() });
    expect(answer.aboutPackages.map(({ code }) => code)).toEqual(['shelf/unproven-when-added']);
    expect(answer.aboutPackages.map(severityOf)).toEqual(['unproven']);
  });
});

/** The same package, which itself tells the panel to erase its data. */
const erasing = [
  shelve('reed.1717_5B_second_K2.zip', families, {
    result: {
      verdict: 'ready',
      findings: [{ code: 'update/wipes-data', severity: 'caution' as const, subject: 'x', title: 'x', seen: 'x' }],
    },
  }),
];

describe('which way, where the list says what the panel can still do', () => {
  it('over the air: no stick, the build to expect, and nothing of what only a stick needs', () => {
    const hall = plan({ answers: { air: 'offers' } });
    expect(hall).toMatchObject({ state: 'over-the-air', target: 'reed.1717', names: [], codes: [], wipes: false });
    expect(hall.way?.todo.join(' ')).toContain('Build reed.1717 is what to expect.');
    // Neither a running build nor a package on the shelf is needed for it.
    expect(plan({ running: undefined, answers: { air: 'offers' } })).toMatchObject({
      state: 'over-the-air',
      codes: [],
    });
    const none = plan({ label: 'home-first 110/5B', answers: { starts: 'yes', air: 'offline' } });
    expect(none).toMatchObject({ state: 'over-the-air', target: undefined, codes: [] });
    expect(none.way?.todo.join(' ')).not.toContain('what to expect');
    // What the panel runs is newer than all that is at hand: that is not what to expect.
    const ahead = plan({ running: 'reed.1835', answers: { air: 'offers' } });
    expect(ahead).toMatchObject({ state: 'over-the-air', target: undefined });
    expect(ahead.way?.todo.join(' ')).not.toContain('reed.1717');
  });

  it('a stick in the running OS, and recovery only with a name and nothing worth keeping', () => {
    const inOs = plan({ answers: { air: 'fails', settings: 'yes' } }, { mode: 'recovery' });
    expect(inOs).toMatchObject({ state: 'update', mode: 'in-os', wipes: false });
    const dead = { starts: 'no', keep: 'no' };
    expect(plan({ answers: dead })).toMatchObject({ state: 'cannot-tell', codes: ['round/ask-first'], names: [] });
    expect(plan({ answers: dead, approval: 'M. Aldane' })).toMatchObject({
      state: 'update',
      mode: 'recovery',
      wipes: true,
    });
    const byRecord = { approvals: new Map([['Hall', 'M. Aldane']]) };
    expect(plan({ answers: dead }, byRecord)).toMatchObject({ state: 'update', mode: 'recovery' });
    expect(plan({ answers: { ...dead, keep: 'yes' }, approval: 'M. Aldane' })).toMatchObject({
      state: 'cannot-tell',
      codes: ['round/ask-first'],
    });
  });

  it('the newest build is the end of it, unless the panel does not start', () => {
    expect(plan({ running: 'reed.1717', answers: { air: 'offline', starts: 'yes' } })).toMatchObject({
      state: 'up-to-date',
      way: undefined,
    });
    const dead = { starts: 'no', keep: 'no' };
    expect(plan({ running: 'reed.1717', answers: dead, approval: 'M. Aldane' })).toMatchObject({
      state: 'cannot-tell',
      codes: ['round/ask-first'],
    });
  });

  it('a mode that the list asks for wins; what it says is worth keeping still counts', () => {
    expect(plan({ mode: 'in-os', answers: { air: 'offers' } })).toMatchObject({ state: 'update', way: undefined });
    const asked = { mode: 'recovery', approval: 'M. Aldane' } as const;
    expect(plan({ ...asked, answers: { starts: 'yes' } })).toMatchObject({ state: 'update', mode: 'recovery' });
    expect(plan({ ...asked, answers: { keep: 'yes' } })).toMatchObject({
      state: 'cannot-tell',
      codes: ['round/ask-first'],
    });
  });

  it('a list that says nothing of it plans as before', () => {
    for (const wish of [{ mode: 'in-os' }, { mode: 'recovery' }] as const) {
      expect(plan({ approval: 'M. Aldane' }, wish)).toMatchObject({ state: 'update', mode: wish.mode, way: undefined });
    }
  });

  it('no row is wiped without a name, nor over what is worth keeping, whatever it says', () => {
    const answers = fc.record(
      {
        starts: fc.constantFrom('yes', 'no', 'unknown'),
        air: fc.constantFrom('offers', 'fails', 'nothing', 'offline', 'cannot', 'unknown'),
        settings: fc.constantFrom('yes', 'no', 'failed-twice', 'maker', 'unknown'),
        keep: fc.constantFrom('yes', 'no', 'unknown'),
      },
      { requiredKeys: [] },
    );
    const rows = fc.record({
      answers,
      mode: fc.constantFrom<Room['mode']>(undefined, undefined, 'in-os', 'recovery'),
      approval: fc.constantFrom(undefined, 'M. Aldane'),
      running: fc.constantFrom(undefined, 'reed.746', 'reed.1717', 'reed.1835'),
    });
    let wiped = 0;
    fc.assert(
      fc.property(rows, fc.constantFrom<Mode>('in-os', 'recovery'), fc.boolean(), (row, mode, isErasing) => {
        const planned = plan(row, { mode, packages: isErasing ? erasing : packages });
        if (planned.state === 'over-the-air') expect([planned.names, planned.wipes]).toEqual([[], false]);
        if (planned.names.length === 0 || !planned.wipes) return;
        wiped++;
        expect(planned.approval).toBe('M. Aldane');
        expect(row.answers.keep ?? 'no').toBe('no');
        if (planned.way !== undefined) expect(row.answers.keep).toBe('no');
      }),
      { seed: 16, numRuns: 1000 },
    );
    expect(wiped).toBeGreaterThan(10);
  });
});

describe('what a family says of older builds', () => {
  it('stands in what is said of a panel that runs something newer, and only then', () => {
    const older = (takes: boolean | undefined) => {
      const saying = families.map((one) => {
        const rules = one.modes['in-os'];
        if (one.family !== 'sedge' || rules === undefined || takes === undefined) return one;
        return { ...one, modes: { ...one.modes, 'in-os': { ...rules, 'takes-downgrade': takes } } };
      });
      const [found] = plan({ running: 'reed.1835' }, { families: saying }).findings;
      return found === undefined ? '' : textsOf(found).seen;
    };
    expect(older(false)).toContain('As the family file says, its panels refuse an older build in in-os mode.');
    expect(older(true)).toContain('take an older build in in-os mode');
    expect(older(undefined)).not.toContain('family file');
  });
});
