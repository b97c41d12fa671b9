import { spawnSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { judgeFamilyFiles } from '../../../src/core/checks/fit/check-families.ts';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { ToolError } from '../../../src/core/model/tool-error.ts';
import { findFamilyPlaces, loadFamilies, readFamilyFiles } from '../../../src/io/families/load-families.ts';
import { parseFamily } from '../../../src/io/families/parse-family.ts';
import { changeFamilyFile, writeFamilyFile } from '../../../src/io/families/write-family-file.ts';
import { needs } from '../../outside/needs.ts';

const sound = `schema: 1
family: quartz
title: Quartz
label:
  pattern: '^(?<size>\\d{2,3}) quartz(?: (?<rev>[A-Z]))?$'
  absent: { rev: none }
  examples:
    - { text: 75 quartz B, size: "75", rev: B }
packages:
  - pattern: '^quartz_(?<size>\\d+)_(?<build>\\d{8})\\.zip$'
    agree: [size]
    examples:
      - { text: quartz_75_20240117.zip, size: "75", build: "20240117" }
build: { scheme: date }
modes:
  in-os: { file-systems: [fat32], keeps-data: true, port: left }
`;

const judge = (yaml: string | Uint8Array) =>
  judgeFamilyFiles([parseFamily('f.yaml', typeof yaml === 'string' ? Buffer.from(yaml) : yaml)]);

const problemsOf = (yaml: string | Uint8Array): readonly string[] =>
  judge(yaml).findings.map((found) => {
    const { seen, todo } = textsOf(found);
    return `${found.code} ${seen} ${todo}`;
  });

const changed = (from: string, to: string): string => {
  if (!sound.includes(from)) throw new Error(`not in the sound file: ${from}`);
  return sound.replace(from, to);
};

let folder = '';
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'families '));
});
afterAll(() => rm(folder, { recursive: true }));

describe('parseFamily', { tags: ['any-maker'] }, () => {
  it('takes a sound file, and knows its hash', () => {
    const { families, findings } = judge(sound);
    const [family] = families;
    expect(findings).toEqual([]);
    expect(family).toMatchObject({
      family: 'quartz',
      source: 'f.yaml',
      sha256: expect.stringMatching(/^[0-9a-f]{64}$/),
    });
  });

  it.each([
    ['text without quotes', changed('size: "75", rev', 'size: 75, rev'), /f\.yaml:8:34.*75 is not text.*"75"/],
    ['a missing key', changed('title: Quartz\n', ''), /f\.yaml:1:1.*title.*missing/],
    ['an unknown key', changed('    agree:', '    agrees: [size]\n    agree:'), /f\.yaml:11:5.*agrees.*not known/],
    ['a value outside the list', changed('scheme: date', 'scheme: dates'), /f\.yaml:14:18.*dates.*date, version/],
    ['another schema version', changed('schema: 1', 'schema: 2'), /f\.yaml:1:9.*2 is not one of: 1/],
    ['a tab', changed('  absent', '\tabsent'), /family\/not-yaml f\.yaml:6:/],
    ['the same key twice', changed('title: Quartz', 'title: Quartz\ntitle: Q'), /family\/not-yaml f\.yaml:4:1.*unique/],
    ['an alias to nothing', changed('title: Quartz', 'title: *q'), /family\/not-yaml/],
    ['not text', Buffer.from([0xff, 0xfe, 0x00]), /family\/not-yaml f\.yaml:1:1.*UTF-8/],
    [
      'a size without a unit',
      changed('port: left', 'port: left, largest-stick: 32 XB'),
      /f\.yaml:16:80.*32 XB: not a number of bytes/,
    ],
    ['a short name with capitals', changed('family: quartz', 'family: Quartz'), /f\.yaml:2:9.*small letters/],
    ['far too much', 'x'.repeat(200_001), /family\/not-yaml f\.yaml:1:1.*more than 200000 bytes/],
    ['nothing', '', /family\/wrong-shape f\.yaml:1:1/],
  ])('says where %s is', (_what, yaml, expected) => {
    expect(problemsOf(yaml).join('\n')).toMatch(expected);
    expect(judge(yaml).families).toEqual([]);
  });

  it.each([
    [
      "'^(?<size>\\d{2,3}) quartz(?: (?<rev>[A-Z]))?$'",
      "'^QZ(?=x)(?<size>\\d{2,3})'",
      /family\/pattern-refused f\.yaml:5:16.*looks ahead/,
    ],
    [
      "'^(?<size>\\d{2,3}) quartz(?: (?<rev>[A-Z]))?$'",
      "'^''Q(?<size>\\d)\\1(?<rev>x)'",
      /family\/pattern-refused f\.yaml:5:28.*refers back/,
    ],
    [
      "'^(?<size>\\d{2,3}) quartz(?: (?<rev>[A-Z]))?$'",
      '"^QZ\\\\d(?<size>[z-a])"',
      /family\/pattern-refused f\.yaml:5:28.*z-a/,
    ],
    [
      "'^(?<size>\\d{2,3}) quartz(?: (?<rev>[A-Z]))?$'",
      "'^QZ(?<size>\\d{2,3}'",
      /family\/pattern-refused f\.yaml:5:12.*missing closing \): `\^QZ/,
    ],
  ])('says where in a pattern it is refused: %s → %s', (from, to, expected) => {
    expect(problemsOf(changed(from, to))[0]).toMatch(expected);
  });

  it('runs the examples, and says what came out instead', () => {
    expect(problemsOf(changed('rev: B }', 'rev: C }'))).toEqual([
      expect.stringMatching(/family\/example-fails f\.yaml:8:45: "75 quartz B" should give rev C, but gives rev B\./),
    ]);
    expect(problemsOf(changed('text: 75 quartz B', 'text: 75 quarts B'))).toEqual([
      expect.stringMatching(/f\.yaml:8:15: "75 quarts B" should give size 75, rev B, but gives nothing/),
    ]);
    expect(problemsOf(changed('build: "20240117"', 'model: "1"'))).toEqual([
      expect.stringMatching(/gives no model at all \(size 75, build 20240117\)/),
    ]);
  });

  it('wants parts that agree on both sides', () => {
    expect(problemsOf(changed('agree: [size]', 'agree: [size, rev]'))).toEqual([
      expect.stringMatching(
        /family\/part-unknown f\.yaml:11:19: rev must agree, but this package's pattern cannot state it/,
      ),
    ]);
    expect(problemsOf(changed('absent: { rev: none }', 'absent: { revision: none }'))).toEqual([
      expect.stringMatching(/family\/part-unknown f\.yaml:6:23: the pattern has no part revision.*size, rev/),
    ]);
  });

  it('keeps names free that examples and packages use otherwise', () => {
    expect(problemsOf(changed('(?<rev>[A-Z])', '(?<build>[A-Z])'))[0]).toMatch(
      /family\/part-unknown f\.yaml:5:12: no part can be called build/,
    );
    expect(problemsOf(changed('(?<size>\\d+)', '(?<text>\\d+)'))[0]).toMatch(
      /family\/part-unknown f\.yaml:10:14: no part can be called text/,
    );
  });

  it('wants builds in the scheme, and bridges that lead upwards', () => {
    expect(
      problemsOf(changed('build: "20240117"', 'build: "20240231"').replace('quartz_75_20240117', 'quartz_75_20240231')),
    ).toEqual([expect.stringMatching(/family\/build-wrong f\.yaml:13:60: .*20240231.*no such day/)]);
    const bridge = (first: string) =>
      problemsOf(`${sound}bridges:\n  - { running-before: "20240101", first: "${first}", because: x }\n`);
    expect(bridge('20240101')).toEqual([]);
    expect(bridge('20231231')).toEqual([
      expect.stringMatching(/family\/build-wrong f\.yaml:18:42: .*not clearly newer/),
    ]);
    expect(bridge('soon')).toEqual([
      expect.stringMatching(/family\/build-wrong f\.yaml:18:42: .*"soon" does not read as date/),
    ]);
  });

  it('stops aliases that multiply without end', () => {
    const bomb = [
      'a0: &a0 [x,x,x,x,x,x,x,x,x]',
      ...Array.from({ length: 9 }, (_, i) => `a${i + 1}: &a${i + 1} [${`*a${i},`.repeat(9)}]`),
    ];
    expect(problemsOf(bomb.join('\n'))).toEqual([expect.stringMatching(/family\/not-yaml .*alias/i)]);
  });
});

describe('loadFamilies', { tags: ['any-maker'] }, () => {
  needs({ sha256sum: 'coreutils' })('knows a file by the hash that sha256sum prints', async () => {
    const file = 'samples/families/sedge.yaml';
    const { stdout } = spawnSync('sha256sum', [file], { encoding: 'utf8' });
    const [sedge] = await loadFamilies([file]);
    expect(stdout).toBe(`${sedge?.sha256}  ${file}\n`);
  });

  it('reads files and folders, and drops the same file met twice', async () => {
    const families = await loadFamilies(['samples/families', 'samples/families/sedge.yaml']);
    expect(families.map(({ family }) => family)).toEqual(['basalt', 'lantern', 'sedge']);
  });

  it('throws with all problems of all files', async () => {
    await writeFile(join(folder, 'a.yaml'), changed('schema: 1', 'schema: 3'));
    await writeFile(join(folder, 'b.yml'), changed('rev: B }', 'rev: C }'));
    const error = await loadFamilies([folder]).then(
      () => undefined,
      (cause) => cause,
    );
    expect(error).toBeInstanceOf(ToolError);
    expect(error.code).toBe('family/unreadable');
    expect(error.message).toMatch(/a\.yaml:1:9.*\n.*b\.yml:8:45/);
  });

  it('gives the sound ones beside the problems to who looks at the files', async () => {
    await writeFile(join(folder, 'a.yaml'), sound);
    await writeFile(join(folder, 'b.yml'), changed('title: Quartz', 'title: Other'));
    const { families, findings } = judgeFamilyFiles(await readFamilyFiles([folder]));
    expect(families.map(({ title }) => title)).toEqual(['Quartz']);
    expect(findings.map(({ code, subject }) => `${code} ${subject}`)).toEqual([
      `family/name-twice ${join(folder, 'b.yml')}:1:1`,
    ]);
  });

  it('says what is not there', async () => {
    await expect(loadFamilies([join(folder, 'nowhere')])).rejects.toMatchObject({ code: 'file/not-found' });
    await expect(loadFamilies(['src/core'])).rejects.toMatchObject({ code: 'family/unreadable' });
  });
});

describe('findFamilyPlaces', () => {
  it('takes the person before the environment before the desk', async () => {
    const environment = { STICKWRIGHT_FAMILIES: ['x', 'y z'].join(delimiter) };
    expect(await findFamilyPlaces(['a'], environment, folder)).toEqual({ paths: ['a'], from: 'named' });
    expect(await findFamilyPlaces([], environment, folder)).toEqual({ paths: ['x', 'y z'], from: 'environment' });
    await writeFile(join(folder, 'a.yaml'), sound);
    expect(await findFamilyPlaces([], {}, folder)).toEqual({ paths: [folder], from: 'user' });
    expect(await findFamilyPlaces([], {}, join(folder, 'nowhere'))).toEqual({ paths: [], from: 'none' });
  });
});

describe('a file of a family that cannot be read or written', () => {
  it('is told with what the system says of it; what is a fault of this tool is not taken for that', async () => {
    const file = join(folder, 'a file.yaml');
    await writeFile(file, sound);
    const inFile = join(file, 'x.yaml'); // ENOTDIR
    await expect(loadFamilies([join(folder, 'none.yaml')])).rejects.toMatchObject({ code: 'file/not-found' });
    await expect(loadFamilies([inFile])).rejects.toMatchObject({ code: 'file/unreadable', subject: inFile });
    await expect(loadFamilies([`${file}\0`])).rejects.toBeInstanceOf(TypeError);
    const written = await readFile(await writeFamilyFile(folder, 'new', sound), 'utf8');
    expect(written).toBe(sound);
    await expect(writeFamilyFile(folder, 'new', '')).rejects.toMatchObject({ code: 'family/unreadable' });
    await expect(writeFamilyFile(file, 'new', sound)).rejects.toMatchObject({ code: 'file/not-permitted' });
    await expect(changeFamilyFile(inFile, sound)).rejects.toMatchObject({ code: 'file/not-permitted' });
    await expect(changeFamilyFile(`${file}\0`, sound)).rejects.toBeInstanceOf(TypeError);
  });
});
