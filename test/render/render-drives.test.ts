import { describe, expect, it } from 'vitest';
import { compareDrives } from '../../src/core/checks/stick/compare-drives.ts';
import { judgeDrive } from '../../src/core/checks/stick/judge-drive.ts';
import { customaryRules } from '../../src/core/model/customary-rules.ts';
import type { Family } from '../../src/core/model/family.ts';
import { reportSchema } from '../../src/core/report/report-schema.ts';
import { driveEventDocument, drivesDocument } from '../../src/render/json/stick-documents.ts';
import { renderDriveEvent, renderDrives } from '../../src/render/text/render-drives.ts';
import { judged, recordedDrive, withVolume } from '../fixtures/drives.ts';

const look = { colour: false, columns: 200 };
const stick = recordedDrive('/dev/sda', { port: '1-2.3' });

describe('the table of drives', () => {
  it('names all that is told of a stick, and whether it would do', () => {
    const text = renderDrives([judged(withVolume(stick, { clusterBytes: 16_384, fileSystem: 'exfat' }))], look);
    expect(text.split('\n').slice(0, 5)).toEqual([
      '/dev/sda  Acme Stick 32',
      '    31,029,460,992 bytes (31.0 GB); serial AA0001; port 1-2.3; an MBR partition table; can be written',
      '    /dev/sda1: exFAT, "PANELS", 31.0 GB, clusters of 16,384 bytes, 31.0 GB free; at /media/u/PANELS',
      '    in-os     would do',
      '    recovery  would not do: The stick is exFAT; in recovery mode this panel takes FAT32.  [stick/file-system-not-taken]',
    ]);
  });

  it('says what is not told', () => {
    const silent = {
      ...withVolume(stick, {
        fileSystem: 'unknown',
        label: undefined,
        bytes: undefined,
        freeBytes: undefined,
        mountPoints: [],
        readOnly: undefined,
      }),
      maker: undefined,
      model: undefined,
      serial: undefined,
      bytes: undefined,
      port: undefined,
      readOnly: undefined,
      partitionTable: 'unknown' as const,
    };
    expect(
      renderDrives([judged(silent)], look)
        .split('\n')
        .slice(0, 4),
    ).toEqual([
      '/dev/sda  maker and model unknown',
      '    size unknown; serial unknown; port unknown; an unknown partition table; read-only or not: unknown',
      '    /dev/sda1: file system unknown, no label known, size unknown, cluster size unknown, free space unknown, read-only or not: unknown; not mounted',
      expect.stringMatching(/^ {4}in-os {5}not known: .*\[stick\/file-system-unknown\]$/),
    ]);
    expect(drivesDocument([judged(silent)]).drives).toMatchObject([
      { maker: null, serial: null, port: null, bytes: null },
    ]);
  });

  it('puts families that say the same together', () => {
    const rules = { 'in-os': customaryRules('in-os') };
    const families = [
      { family: 'basalt', modes: rules },
      { family: 'lantern', modes: rules },
      { family: 'sedge', modes: { 'in-os': { ...rules['in-os'], 'largest-stick': '16 GB' } } },
    ] as unknown as readonly Family[];
    const text = renderDrives([{ ...stick, modes: judgeDrive(stick, families) }], look);
    expect(text).toContain('    in-os     basalt, lantern: would do\n              sedge: would not do: ');
    expect(text).toContain('    recovery  none of these families is updated in this mode');
  });

  it('lets no name on a stick steer the terminal or pass for a line', () => {
    const text = renderDrives(
      [judged(withVolume({ ...stick, model: 'A\u001b[2J' }, { label: 'B\u0007\n/dev/sdz' }))],
      look,
    );
    expect(text).not.toMatch(/[\u0007\u001b]/);
    expect(text).not.toMatch(/^\s*\/dev\/sdz/m);
  });
});

describe('a line of a watch', () => {
  const [before, after] = [judged({ ...stick, volumes: [] }), judged(stick)];
  const lines = (a: typeof after, b: typeof after) =>
    compareDrives([a], [b]).map((event) => renderDriveEvent(event, '09:14:05', look));

  it('says what came and what it would do for, once', () => {
    const [event] = compareDrives([], [after]);
    if (event === undefined) throw new Error('nothing came');
    expect(renderDriveEvent(event, '09:14:05', look)).toBe(
      '09:14:05  came     /dev/sda  Acme Stick 32, 31.0 GB, serial AA0001; /dev/sda1 "PANELS" FAT32 at /media/u/PANELS; in-os would do; recovery would do\n',
    );
    expect(lines(before, after)).toEqual([
      '09:14:05  came     /dev/sda1  "PANELS" FAT32 at /media/u/PANELS; in-os would do; recovery would do\n',
    ]);
    expect(lines(judged({ ...stick, serial: undefined }), after)).toEqual([
      '09:14:05  changed  /dev/sda  serial AA0001, was serial unknown\n',
    ]);
    expect(lines(after, judged({ ...stick, readOnly: true }))).toEqual([
      expect.stringMatching(/READ-ONLY: move its lock switch, was can be written; in-os would not do: .*read-only/),
    ]);
    expect(lines(after, judged(withVolume(stick, { mountPoints: [] })))).toEqual([
      '09:14:05  changed  /dev/sda1  not mounted, was at /media/u/PANELS\n',
    ]);
  });

  it('is one line and one document, whatever a volume is called', () => {
    const named = judged(withVolume(stick, { label: 'A\nB' }));
    for (const event of compareDrives([after], [named])) {
      expect(renderDriveEvent(event, '09:14:05', look).split('\n')).toHaveLength(2);
      const document = driveEventDocument(event, '2026-09-14T08:00:00.000Z');
      expect(reportSchema.parse(document)).toMatchObject({
        at: '2026-09-14T08:00:00.000Z',
        event: { changed: ['label'] },
      });
    }
  });
});
