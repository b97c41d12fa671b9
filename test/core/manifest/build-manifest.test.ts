import { describe, expect, it, test } from 'vitest';
import { canonicalForm, parseDocument } from '../../../src/core/documents/own-digest.ts';
import { finding } from '../../../src/core/findings/finding.ts';
import { readLabel, readPackageName } from '../../../src/core/label/read-label.ts';
import {
  buildManifest,
  keyName,
  largestManifestBytes,
  makeSeal,
  parseSeal,
  recordedBytes,
  sealedText,
  serialiseSeal,
} from '../../../src/core/manifest/build-manifest.ts';
import { finderNote, stickRecordFiles, stickRecordNamedBy } from '../../../src/core/manifest/record-files.ts';
import {
  isSetAsideFolder,
  isUnfinishedWork,
  makeStickCode,
  parentsOf,
  setAsideFolder,
} from '../../../src/core/manifest/stick-names.ts';
import type { ArchiveFacts } from '../../../src/core/model/archive-facts.ts';
import { customaryRules } from '../../../src/core/model/customary-rules.ts';
import type { Family } from '../../../src/core/model/family.ts';
import type { LayoutPlan } from '../../../src/core/model/layout-plan.ts';
import { type Manifest, manifest2Schema } from '../../../src/core/model/manifest.ts';
import type { StickFacts } from '../../../src/core/model/stick-facts.ts';
import { sha256 } from '../../../src/io/digest/node-digest.ts';
import { familyNamed, sampleFamilies } from '../label/families.ts';

const families = await sampleFamilies();
const sedge = familyNamed(families, 'sedge');
const archiveName = 'reed.746_5B_second_K2.zip';
const file = (path: string) => ({ path, bytes: 1, sha256: '0'.repeat(64) });

const built = ({
  label = 'K2-second 75/5B',
  name = archiveName,
  known = families,
  stick = {},
  findings = [],
}: {
  label?: string;
  name?: string;
  known?: readonly Family[];
  stick?: Partial<StickFacts>;
  findings?: Parameters<typeof buildManifest>[0]['findings'];
} = {}) =>
  buildManifest({
    stickCode: 'ACD-479',
    preparedAt: '2026-11-02T07:30:00.000Z',
    toolVersion: '0.2.0',
    plan: {
      mode: 'recovery',
      items: [
        { action: 'set-aside', path: 'old.zip', to: 'set-aside-20261102T073000Z/old.zip.set-aside', bytes: 9 },
        { action: 'remove', path: 'x', kind: 'file', bytes: 1 },
        { action: 'make-folder', path: 'images' },
      ],
      untouched: [{ path: 'me.jpg', bytes: 10 }],
    } as unknown as LayoutPlan,
    rules: { ...customaryRules('recovery'), 'only-these-at-root': true },
    label: readLabel(label, known),
    package: readPackageName(name, known),
    archive: { fileName: name, bytes: 7, directorySha256: 'dd' } as ArchiveFacts,
    archiveSha256: 'aa',
    files: ['b', 'images/a', 'B', 'a', 'a'].map(file),
    folders: ['images'],
    stick: { fileSystem: 'fat32', volumeBytes: 1, partitionTable: 'mbr', ...stick } as StickFacts,
    findings,
    readBack: 'medium',
  });

describe('what is recorded of a preparation', { tags: ['plan-before-touch'] }, () => {
  it('is what was prepared, for what, and by what its package was chosen', () => {
    expect(built()).toEqual({
      schema: 'stickwright/manifest/2',
      stick: 'ACD-479',
      preparedAt: '2026-11-02T07:30:00.000Z',
      tool: { name: 'stickwright', version: '0.2.0' },
      mode: 'recovery',
      keepsData: false,
      label: {
        text: 'K2-second 75/5B',
        normalised: 'K2-second 75/5B',
        parts: { factory: 'K2', generation: 'SECOND', size: '75', series: '5B' },
      },
      family: {
        name: 'sedge',
        title: sedge.title,
        sha256: sedge.sha256,
        label: { pattern: sedge.label.pattern, absent: sedge.label.absent },
        onlyTheseAtRoot: true,
      },
      archive: {
        ...{ name: archiveName, bytes: 7, sha256: 'aa', directorySha256: 'dd', build: 'reed.746' },
        ...{ parts: { series: '5B', generation: 'SECOND', factory: 'K2' }, agree: ['series', 'generation', 'factory'] },
      },
      files: ['B', 'a', 'a', 'b', 'images/a'].map(file),
      folders: ['images'],
      untouched: [{ path: 'me.jpg', bytes: 10 }],
      setAside: [{ path: 'old.zip', to: 'set-aside-20261102T073000Z/old.zip.set-aside' }],
      removed: ['x'],
      volume: {
        ...{ fileSystem: 'fat32', clusterBytes: null, volumeBytes: 1, serial: null, label: null },
        partitionTable: 'mbr',
      },
      overrides: [],
      unproven: [],
      readBack: 'medium',
    });
  });

  it('names the volume as far as it says what it is', () => {
    const stick = { clusterBytes: 4096, volumeSerial: '1234-ABCD', volumeLabel: 'STICK' };
    expect(built({ stick }).volume).toMatchObject({ clusterBytes: 4096, serial: '1234-ABCD', label: 'STICK' });
  });

  it('names no family where none reads the label, or two do, and none for a package of another', () => {
    const unread = { family: null, label: { parts: null }, archive: { build: null, parts: null, agree: [] } };
    expect(built({ label: 'QX 75' })).toMatchObject(unread);
    expect(built({ known: [sedge, { ...sedge, family: 'copy' }] })).toMatchObject(unread);
    const { family, archive } = built({ name: 'lantern-vx-am-v3.9.0_20231120.zip' });
    expect(family?.name).toBe('sedge');
    expect(archive).toMatchObject({ build: null, parts: null, agree: [] });
  });

  it('carries what a person decided, and what nobody could prove, but for what every verify asks itself', () => {
    const accepted = { ...finding('stick/dirty', 'E:'), acceptedBecause: 'so' };
    const { overrides, unproven } = built({
      findings: [
        accepted,
        finding('stick/dirty', 'E:'),
        finding('archive/no-published-hash', archiveName),
        finding('stick/eject-due', 'E:'),
      ],
    });
    expect(overrides).toEqual([{ code: 'stick/dirty', subject: 'E:', because: 'so' }]);
    expect(unproven).toEqual([{ code: 'archive/no-published-hash', subject: archiveName }]);
  });

  it('lies beside a list and a note, which it names', () => {
    const described = built();
    const record = stickRecordFiles(described, sha256);
    expect(record.map(({ path }) => path)).toEqual([
      'stickwright/checksums.sha256',
      'stickwright/what-is-this-stick.txt',
    ]);
    const note = finderNote(described);
    expect(record[1]).toMatchObject({ bytes: Buffer.byteLength(note), sha256: sha256(note) });
    const whole = { ...described, record, sealedBy: null, selfSha256: '' } as Manifest;
    expect(stickRecordNamedBy(whole, sha256)).toBe(record);
    const first = { ...whole, schema: 'stickwright/manifest/1' } as Manifest;
    expect(stickRecordNamedBy(first, sha256)).toEqual([record[0]]);
    expect(note).toContain('\r\n  Build          reed.746\r\n');
    const unbuilt = finderNote({ ...described, archive: { ...described.archive, build: null } });
    expect(unbuilt).toBe(note.replace(/ {2}Build .*\r\n/, ''));
    expect(unbuilt).not.toContain('Build');
    expect(note).toContain('IT WIPES THE PANEL');
    expect(finderNote({ ...described, keepsData: true })).toContain('In the wrong panel it can still do harm.');
  });

  it('takes no more bytes for a path than are counted for it', () => {
    for (const path of ['a', 'images/größe.img', '七', 'x'.repeat(255)]) {
      const written = JSON.stringify({ files: [{ path, bytes: 2 ** 53 - 1, sha256: '0'.repeat(64) }] }, null, 2);
      expect(recordedBytes(path)).toBeGreaterThanOrEqual(Buffer.byteLength(written) - '{"files":[]}'.length);
    }
    expect([recordedBytes('ab'), recordedBytes('ä')]).toEqual([162, 163]);
    expect(largestManifestBytes).toBe(16_777_216);
  });
});

describe('a seal', () => {
  const seal = makeSeal('S2V5', 'U2lnbg==');
  it('reads back as it was written, and nothing else is one', () => {
    expect(parseSeal(serialiseSeal(seal))).toEqual({ state: 'whole', seal });
    for (const text of [
      '{}',
      'x',
      JSON.stringify({ ...seal, algorithm: 'RSA' }),
      JSON.stringify({ ...seal, schema: 'stickwright/seal/2' }),
    ])
      expect(parseSeal(text)).toEqual({ state: 'broken' });
  });

  it('is made over its own name and all of the manifest but its digest', () => {
    const manifest = { b: 1, a: 2, selfSha256: 'x' } as unknown as Manifest;
    expect(sealedText(manifest)).toBe('stickwright/seal/1\n{"a":2,"b":1}');
  });

  it('has a key that people compare by sixteen digits', () => {
    expect(keyName('0123456789abcdef'.repeat(4))).toBe('0123-4567-89ab-cdef');
  });
});

describe('the names on a stick', () => {
  it.each([
    ['2026-11-02T07:30:00.000Z', [], 'set-aside-20261102T073000Z'],
    ['2026-11-02T07:30:00Z', ['SET-ASIDE-20261102T073000Z'], 'set-aside-20261102T073000Z-2'],
    [
      '2026-11-02T07:30:00.123Z',
      ['SET-ASIDE-20261102T073000Z', 'SET-ASIDE-20261102T073000Z-2'],
      'set-aside-20261102T073000Z-3',
    ],
  ])('of what is set aside at %s beside %j', (at, taken, expected) => {
    const name = setAsideFolder(at, new Set(taken));
    expect(name).toBe(expected);
    expect(isSetAsideFolder(name)).toBe(true);
  });

  test.each([
    'xset-aside-20261102T073000Z',
    'set-aside-20261102T073000Zx',
    'set-aside-20261102T073000Z-x',
    'set-aside-2026',
  ])('%s is somebody’s', (name) => {
    expect(isSetAsideFolder(name)).toBe(false);
  });
  it('of the twelfth one of a second is its own', () => {
    expect(isSetAsideFolder('set-aside-20261102T073000Z-12')).toBe(true);
  });

  it('of unfinished work are these and no others', () => {
    const known = ['SW-PART.TMP', 'SW-DONE.TMP', 'stickwright/MANIFEST.NEW', 'stickwright/MANIFEST.OLD'];
    expect([...known, 'SW-DONE.TMP/MANIFEST.OLD'].every(isUnfinishedWork)).toBe(true);
    expect(['sw-part.tmp', 'stickwright', 'stickwright/manifest.json', 'SW-PART.TMP/x'].some(isUnfinishedWork)).toBe(
      false,
    );
  });

  it('on the way to a path are its folders, the root’s own first', () => {
    expect([parentsOf('a/b/c'), parentsOf('a')]).toEqual([['a', 'a/b'], []]);
  });

  it('for a tag are six letters that nobody misreads, in two threes', () => {
    let at = 0;
    expect(makeStickCode((below) => at++ % below)).toBe('ACD-EFH');
    expect(makeStickCode((below) => below - 1)).toBe('999-999');
  });
});

describe('a document of this tool', () => {
  const read = (text: string) => parseDocument<Manifest>(text, 'manifest', { 2: manifest2Schema }, sha256);
  it.each([
    ['null', /expected object/i],
    ['7', /expected object/i],
    ['"x"', /expected object/i],
    ['[]', /expected object/i],
    ['{}', /stickwright\/manifest\/2/],
    ['{"schema":7}', /stickwright\/manifest\/2/],
    ['{"schema":"stickwright/manifest/02"}', /stickwright\/manifest\/2/],
    ['{"schema":"stickwright/manifest/2x"}', /stickwright\/manifest\/2/],
    ['{"schema":"stickwright/manifest/x9"}', /stickwright\/manifest\/2/],
    ['{"schema":"stickwright/other/9"}', /stickwright\/manifest\/2/],
    ['{"a":1,"a":2}', /two members that are called "a"/],
  ])('is broken, and never taken for a later one: %s', (text, problem) => {
    const reading = read(text);
    expect(reading).toEqual({ state: 'broken', problem: expect.stringMatching(problem) });
    expect(reading.state === 'broken' && reading.problem).not.toMatch(/\s{2}|\n/);
  });

  it.each(['3', '10', '999999999'])('of version %s is a later one', (version) => {
    const schema = `stickwright/manifest/${version}`;
    expect(read(JSON.stringify({ schema }))).toEqual({ state: 'newer', schema });
  });

  it('has a form for every value that JSON has one for', () => {
    expect(canonicalForm({ b: [1, null], a: 'x' })).toBe('{"a":"x","b":[1,null]}');
  });
});
