import { describe, expect, it } from 'vitest';
import {
  lineStart,
  parseRecordLine,
  roundRecordWithDigest,
  serialiseRoundRecord,
} from '../../../../src/core/rounds/records/own-digests.ts';
import { sha256 } from '../../../../src/io/digest/node-digest.ts';

const visit = {
  schema: 'stickwright/round-record/1',
  id: '0f4b1a52-6a4e-4b8e-9f6e-2b1d4c7a9e01',
  at: '2026-11-03T07:40:00+01:00',
  notedAt: '2026-11-03T06:52:11.204Z',
  who: 'Åse 7',
  kind: 'visit',
  room: 'Room 2.14',
  label: 'K2-second 75/5B',
  serial: null,
  asset: null,
  stick: 'CLY-FTJ',
  package: { name: 'reed.1717_5B_second_K2.zip', sha256: 'ab'.repeat(32), build: 'reed.1717' },
  mode: 'in-os',
  outcome: 'failed',
  buildBefore: 'reed.746',
  buildAfter: null,
  wiped: false,
  text: 'said "no file" {"schema":"stickwright/round-record/1"}\nthen 0x80',
} as const;

describe('a line of a record', () => {
  it('comes back as it went', () => {
    const sealed = roundRecordWithDigest(visit, sha256);
    const line = serialiseRoundRecord(sealed);
    expect(line).not.toContain('\n');
    expect(line.startsWith(lineStart)).toBe(true);
    expect(line.lastIndexOf(lineStart)).toBe(0); // quoted words of a person are no beginning of a line
    expect(parseRecordLine(line, sha256)).toEqual({ state: 'whole', document: sealed });
  });

  it('is sealed over the RFC 8785 form: sorted members, no white space, no escapes beyond those of JSON', () => {
    // Written out by hand after RFC 8785 sections 3.2.1 to 3.2.3; the digest is made from it with `sha256sum`'s
    // algorithm.
    const canonical =
      '{"at":"2026-11-03T08:00:00Z","because":"typed \\"wrong\\"","id":"0f4b1a52-6a4e-4b8e-9f6e-2b1d4c7a9e02",' +
      '"kind":"withdrawn","notedAt":"2026-11-03T08:00:01Z","schema":"stickwright/round-record/1","who":"Åse",' +
      '"withdraws":"0f4b1a52-6a4e-4b8e-9f6e-2b1d4c7a9e01"}';
    const sealed = roundRecordWithDigest(
      {
        withdraws: visit.id,
        who: 'Åse',
        schema: 'stickwright/round-record/1',
        kind: 'withdrawn',
        because: 'typed "wrong"',
        notedAt: '2026-11-03T08:00:01Z',
        at: '2026-11-03T08:00:00Z',
        id: '0f4b1a52-6a4e-4b8e-9f6e-2b1d4c7a9e02',
      },
      sha256,
    );
    expect(sealed.selfSha256).toBe(sha256(canonical));
  });

  it('is broken wherever it was cut', () => {
    const line = serialiseRoundRecord(roundRecordWithDigest(visit, sha256));
    for (let at = 1; at < line.length; at++) {
      expect(parseRecordLine(line.slice(0, at), sha256).state, `cut at ${at}`).toBe('broken');
      expect(parseRecordLine(line.slice(at), sha256).state, `from ${at}`).toBe('broken');
    }
  });

  it('is broken where one character was changed, and says newer where a later version wrote it', () => {
    const line = serialiseRoundRecord(roundRecordWithDigest(visit, sha256));
    expect(parseRecordLine(line.replace('"failed"', '"done"'), sha256)).toMatchObject({ state: 'broken' });
    expect(parseRecordLine(line.replace('record/1', 'record/3'), sha256)).toMatchObject({ state: 'newer' });
    expect(parseRecordLine(line.replace('"visit"', '"other"'), sha256)).toMatchObject({ state: 'broken' });
    for (const other of ['', 'null', '[]', '"x"', '{}', '{"schema":7}']) {
      expect(parseRecordLine(other, sha256).state, other).toBe('broken');
    }
  });
});
