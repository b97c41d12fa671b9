import { catalogue, entryOf, type FindingCode } from '../../core/findings/catalogue.ts';
import { isAcceptable } from '../../core/findings/verdict.ts';
import { inMargin, type Look, painter } from './page.ts';

const margin = 12;

/** What a code means, without a case at hand. */
export function renderExplanation(code: FindingCode, look: Look): string {
  const entry = entryOf(code);
  const lines = [
    painter(look)('bold', code),
    inMargin('What', `${entry.title.charAt(0).toUpperCase()}${entry.title.slice(1)}.`, margin, look),
    inMargin('Weight', weights[entry.severity], margin, look),
    inMargin('Why', entry.why, margin, look),
    ...(typeof entry.todo === 'string' ? [inMargin('Do', entry.todo, margin, look)] : []),
    inMargin('Override', isAcceptable(code) ? `--accept ${code} --because "…"` : 'none', margin, look),
    inMargin('Source', entry.source, margin, look),
  ];
  return `${lines.join('\n')}\n`;
}

const weights = {
  stop: 'STOP: the verdict is not ready',
  unproven: 'OPEN: nothing is wrong, but it could not be checked; the verdict is unproven',
  caution: 'MIND: know this before you go on',
  note: 'fyi',
};

/** Every code with its title, by area. */
export function renderAllCodes(look: Look): string {
  const codes = Object.keys(catalogue).sort() as FindingCode[];
  const width = Math.max(...codes.map((code) => code.length)) + 4;
  const lines = codes.map((code) =>
    inMargin(code, entryOf(code).title, width, { ...look, columns: Math.max(look.columns, width + 30) }),
  );
  return `${lines.join('\n')}\n\nOne of them: stickwright explain CODE\n`;
}
