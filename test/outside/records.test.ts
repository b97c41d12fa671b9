import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect } from 'vitest';
import { foldRound } from '../../src/core/rounds/records/fold-round.ts';
import { relateBuilds } from '../../src/core/rounds/records/read-visit.ts';
import { startRecordFile } from '../../src/io/rounds/append-records.ts';
import { renderRoundReport } from '../../src/render/html/render-round-report.ts';
import { recordArbitrary } from '../fixtures/records/record-arbitrary.ts';
import { makeRecord, sampleRecords, sampleRound } from '../fixtures/round.ts';
import { evaluateInPage, readPdf } from './in-chromium.ts';
import { needs, needsChineseLetters } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright-records-outside-'));
afterAll(() => rmSync(folder, { recursive: true, force: true, maxRetries: 5 }));

const filesIn = (place: string): readonly string[] => {
  const records = join(place, 'records');
  return readdirSync(records).map((name) => join(records, name));
};

/**
 * RFC 8785 for what records hold: strings, booleans, null, lists and objects, no numbers. Python's json with sorted
 * keys, no spaces and unescaped UTF-8 is that form (sections 3.2.1 to 3.2.3), as all our member names are ASCII.
 */
const digestInPython = `
import hashlib, json, sys
seen = 0
for path in sys.argv[1:]:
    for line in open(path, encoding='utf-8', newline='\\n'):
        record = json.loads(line)
        told = record.pop('selfSha256')
        form = json.dumps(record, sort_keys=True, separators=(',', ':'), ensure_ascii=False)
        made = hashlib.sha256(form.encode('utf-8', 'surrogatepass')).hexdigest()
        assert made == told, (line, form)
        seen += 1
print(seen)
`;

describe('files of records', () => {
  needs({ python3: 'python3' })(
    'are lines that Python reads, each with the digest that Python makes of it',
    async () => {
      const script = join(folder, 'digest.py');
      writeFileSync(script, digestInPython);
      const sampled = fc.sample(recordArbitrary, { numRuns: 300, seed: 7 });
      const append = startRecordFile(folder, 'Ada');
      for (let at = 0; at < sampled.length; at += 7) await append(sampled.slice(at, at + 7));
      expect(execFileSync('python3', [script, ...filesIn(folder)], { encoding: 'utf8' }).trim()).toBe('300');
    },
  );

  needs({ jq: 'jq' })('are read by jq, line by line', async () => {
    const place = mkdtempSync(join(folder, 'jq-'));
    const records = fc.sample(recordArbitrary, { numRuns: 20, seed: 8 });
    await startRecordFile(place, 'Bo')(records);
    const ids = execFileSync('jq', ['-r', '.id', ...filesIn(place)], { encoding: 'utf8' })
      .trim()
      .split('\n');
    expect(ids).toEqual(records.map(({ id }) => id));
  });
});

describe('the printed report', () => {
  const round = sampleRound();
  const failed = (number: number, text: string) =>
    makeRecord('visit', number, {
      ...{ room: 'Room 2.14', label: null, serial: null, asset: null, stick: 'CLY-FTJ', package: null, mode: 'in-os' },
      ...{ outcome: 'failed', buildBefore: 'reed.746', buildAfter: null, wiped: false, text },
      at: `2026-09-21T0${8 + (number % 2)}:40:00+02:00`,
    });
  const status = foldRound(
    round,
    [...sampleRecords(round), failed(200, 'E17 <b>&amp; "no file"</b>'), failed(201, '更新文件 не найден')],
    relateBuilds([]),
  );
  const page = renderRoundReport(status, '2026-09-21T16:00:00+02:00');

  needsChineseLetters({ chromium: 'chromium', pdftotext: 'poppler-utils' })(
    'is A4, black on white, with every room and word on it',
    () => {
      const html = join(folder, 'report.html');
      const pdf = join(folder, 'report.pdf');
      writeFileSync(html, page);
      const profile = join(folder, 'profile');
      const words = ['--headless', '--disable-gpu', ...(process.getuid?.() === 0 ? ['--no-sandbox'] : [])];
      execFileSync(
        'chromium',
        [...words, `--user-data-dir=${profile}`, '--no-pdf-header-footer', `--print-to-pdf=${pdf}`, `file://${html}`],
        { stdio: 'ignore' },
      );
      const { pages, sizes } = readPdf(pdf);
      // ISO 216: 210 mm by 297 mm; a point is 1/72 inch.
      for (const size of sizes) expect(size).toMatch(/^59[45](\.\d+)? x 84[12](\.\d+)?$/);
      const text = pages.join('\n').replace(/\s+/g, ' ');
      for (const { room, label } of round.rooms) {
        expect(text).toContain(room);
        expect(text).toContain(label);
      }
      for (const word of ['E17 <b>&amp; "no file"</b>', '更新文件', 'CLY-FTJ', 'Fails more than once', 'Technician']) {
        expect(text).toContain(word);
      }
    },
  );

  needs({ chromium: 'chromium' })('cuts nothing off: no cell is wider than its column, no build is broken', () => {
    const wide = evaluateInPage<readonly string[]>(
      page,
      `[...document.querySelectorAll('td, th, h1, h2, p')].filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent)`,
    );
    expect(wide).toEqual([]);
    const broken = evaluateInPage<readonly string[]>(
      page,
      `[...document.querySelectorAll('td bdi')].filter((one) => /^\\d{8}$/.test(one.textContent) && one.getClientRects().length > 1).map((one) => one.textContent)`,
    );
    expect(broken).toEqual([]);
  });
});
