import { describe, expect, it } from 'vitest';
import { canonicalForm, withOwnDigest } from '../../../src/core/documents/own-digest.ts';
import { parseManifest, serialiseManifest } from '../../../src/core/manifest/build-manifest.ts';
import { finderNote } from '../../../src/core/manifest/record-files.ts';
import type { Manifest2 as Manifest } from '../../../src/core/model/manifest.ts';
import { checksumList } from '../../../src/core/text/checksum-list.ts';
import { sha256 } from '../../../src/io/digest/node-digest.ts';

const zeros = '0'.repeat(64);

const undigested: Omit<Manifest, 'selfSha256'> = {
  schema: 'stickwright/manifest/2',
  stick: 'ACD-479',
  preparedAt: '2026-11-02T07:30:00.000Z',
  tool: { name: 'stickwright', version: '0.1.0' },
  mode: 'recovery',
  keepsData: false,
  label: { text: 'K2-second 75/5B', normalised: 'K2-second 75/5B', parts: { size: '75' } },
  family: null,
  archive: { name: 'a.zip', bytes: 1, sha256: zeros, directorySha256: zeros, build: null, parts: null, agree: [] },
  files: [{ path: 'images/ä.img', bytes: 1, sha256: zeros }],
  folders: ['images'],
  untouched: [],
  setAside: [],
  removed: [],
  volume: { fileSystem: 'fat32', clusterBytes: 512, volumeBytes: 1, serial: null, label: null, partitionTable: 'mbr' },
  overrides: [],
  unproven: [],
  readBack: 'medium',
  record: [{ path: 'stickwright/checksums.sha256', bytes: 1, sha256: zeros }],
  sealedBy: null,
};
const manifest = withOwnDigest(undigested, sha256);

describe('a manifest', () => {
  it('reads back as it was written', () => {
    expect(parseManifest(serialiseManifest(manifest), sha256)).toEqual({ state: 'whole', manifest });
  });

  // RFC 8785 section 3.2.3: members sorted by UTF-16 units; the order in the file does not count.
  it('is whole in whatever order its members come', () => {
    const shuffled = `${JSON.stringify(Object.fromEntries(Object.entries(manifest).reverse()))}\n`;
    expect(parseManifest(shuffled, sha256).state).toBe('whole');
  });

  it('is broken by any change of a member, one at a time', () => {
    const changes: Partial<Record<keyof Manifest, unknown>> = {
      stick: 'ACD-478',
      preparedAt: '2026-11-02T07:30:01.000Z',
      tool: { name: 'stickwright', version: '0.1.1' },
      mode: 'in-os',
      keepsData: true,
      label: { ...manifest.label, text: 'K3-second 75/5B' },
      archive: { ...manifest.archive, bytes: 2 },
      files: [{ path: 'images/ä.img', bytes: 2, sha256: zeros }],
      folders: [],
      untouched: [{ path: 'x', bytes: 0 }],
      setAside: [{ path: 'x', to: 'y' }],
      removed: ['x'],
      volume: { ...manifest.volume, serial: 'ABCD-0123' },
      overrides: [{ code: 'stick/dirty', subject: 'x', because: 'y' }],
      unproven: [{ code: 'x', subject: 'y' }],
      readBack: 'cache',
      record: [],
      sealedBy: '0123-4567-89ab-cdef',
      selfSha256: zeros,
    };
    for (const [member, value] of Object.entries(changes)) {
      const reading = parseManifest(`${JSON.stringify({ ...manifest, [member]: value })}\n`, sha256);
      expect(reading, member).toMatchObject({ state: 'broken', problem: expect.not.stringContaining('end') });
    }
  });

  // In a FAT slot one bit makes a file a byte shorter: mtools and Linux then read another file than was written.
  it('is broken at every byte where it can be cut short, the last line break too', () => {
    const text = serialiseManifest(manifest);
    for (let end = 0; end < text.length; end++) {
      expect(parseManifest(text.slice(0, end), sha256).state).toBe('broken');
    }
  });

  it('of a later version is said to be that', () => {
    const later = JSON.stringify({ ...manifest, schema: 'stickwright/manifest/3' });
    expect(parseManifest(later, sha256)).toEqual({ state: 'newer', schema: 'stickwright/manifest/3' });
  });

  it('never names a file outside the stick', () => {
    for (const path of ['/etc/passwd', '../up', 'a/../../b', 'a//b', '']) {
      const bad = withOwnDigest({ ...undigested, files: [{ path, bytes: 1, sha256: zeros }] }, sha256);
      expect(parseManifest(serialiseManifest(bad), sha256).state, path).toBe('broken');
    }
  });
});

// RFC 8785, section 3.2.2 (numbers and strings) and 3.2.3 (sorting), on members that a manifest can have.
it('the canonical form sorts members and escapes as RFC 8785 says', () => {
  const form = canonicalForm({ ...undigested, stick: '\u20ac$\u000f\nA\'B"\\"/' });
  expect(form).toContain('"stick":"€$\\u000f\\nA\'B\\"\\\\\\"/"');
  expect(form.startsWith('{"archive":{"agree":[],"build":null,"bytes":1,')).toBe(true);
  expect(form).not.toContain('selfSha256');
});

describe('the checksum list', () => {
  it('is lower hex, two spaces, the path, LF', () => {
    expect(checksumList([{ path: 'images/a b.img', bytes: 1, sha256: zeros }])).toBe(`${zeros}  images/a b.img\n`);
  });

  // GNU coreutils manual, "md5sum invocation": a backslash before the line, and \\ and \n inside.
  it('escapes a backslash or a line break as GNU coreutils does', () => {
    const list = checksumList([{ path: 'a\\b\nc', bytes: 1, sha256: zeros }]);
    expect(list).toBe(`\\${zeros}  a\\\\b\\nc\n`);
  });
});

describe('the note for the finder', () => {
  it('says loudly that a recovery stick wipes, and names label, code and mode', () => {
    const note = finderNote(manifest);
    expect(note).toMatch(/IT WIPES THE PANEL/);
    for (const word of ['ACD-479', 'K2-second 75/5B', 'recovery', 'sha256sum -c']) expect(note).toContain(word);
    expect(
      note
        .split('\n')
        .slice(0, -1)
        .every((line) => line.endsWith('\r')),
    ).toBe(true);
  });

  it('does not cry wolf for a stick that keeps the data', () => {
    expect(finderNote({ ...manifest, mode: 'in-os', keepsData: true })).not.toMatch(/WIPES/);
  });
});
