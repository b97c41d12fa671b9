import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const switches = (profile: string): readonly string[] => [
  '--headless',
  '--disable-gpu',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  `--user-data-dir=${profile}`,
  ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
];

/**
 * What PROGRAM, an expression, says in a copy of PAGE that Chromium has laid out as for print: our own pages have no
 * script, so one is put into the copy, its content policy is taken out, and the rules for screens are taken away.
 */
export function evaluateInPage<Answer>(page: string, program: string): Answer {
  const folder = mkdtempSync(join(tmpdir(), 'stickwright-page-'));
  try {
    const script = `<script>document.fonts.ready.then(() => { const pre = document.createElement('pre'); pre.id = 'answer'; pre.textContent = JSON.stringify(${program}); document.body.append(pre); });</script>`;
    const copy = page
      .replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, '')
      .replaceAll('@media screen', '@media none')
      .replace('</body>', `${script}</body>`);
    const path = join(folder, 'page.html');
    writeFileSync(path, copy);
    const words = [...switches(join(folder, 'profile')), '--virtual-time-budget=5000', '--dump-dom', `file://${path}`];
    const dom = execFileSync('chromium', words, {
      encoding: 'utf8',
      maxBuffer: 2 ** 28,
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    const [, answer = 'null'] = /<pre id="answer">([\s\S]*?)<\/pre>/.exec(dom) ?? [];
    return JSON.parse(answer.replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&amp;', '&')) as Answer;
  } finally {
    rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
  }
}

/** The PDF as bytes, and the text of each of its pages as poppler's pdftotext reads it. */
export function readPdf(path: string): { readonly pages: readonly string[]; readonly sizes: readonly string[] } {
  const text = execFileSync('pdftotext', ['-raw', path, '-'], { encoding: 'utf8', maxBuffer: 2 ** 28 });
  const info = execFileSync('pdfinfo', ['-l', '9999', path], { encoding: 'utf8' });
  const sizes = [...info.matchAll(/size:\s+([\d.]+ x [\d.]+) pts/g)].map(([, size = '']) => size);
  return { pages: text.split('\f').slice(0, -1), sizes };
}

/** What zbar's zbarimg reads in each page of a PDF, drawn by poppler at DPI. */
export function scanPdf(path: string, dpi: number): readonly (readonly string[])[] {
  const folder = mkdtempSync(join(tmpdir(), 'stickwright-scan-'));
  try {
    execFileSync('pdftoppm', ['-gray', '-r', String(dpi), path, join(folder, 'page')]);
    const files = readdirSync(folder).toSorted();
    return files.map((file) => {
      const image = join(folder, file);
      const words = ['--quiet', '--raw', '-Sdisable', '-Sqrcode.enable', image];
      try {
        return execFileSync('zbarimg', words, { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] })
          .trim()
          .split('\n');
      } catch {
        return [];
      }
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
