import type { ModeRules } from '../../core/model/family.ts';
import type { Mode } from '../../core/model/mode.ts';
import { alwaysMind, type PanelAdvice, panelAdvice } from '../../core/rounds/cards/usual-practice.ts';
import { inMargin, type Look, painter, tame } from './page.ts';
import { fact } from './render-facts.ts';

const margin = 6;

/** What to do with the stick at the panel: the family's own words, and the cautions that always hold. */
export function renderAtThePanel(mode: Mode, rules: ModeRules, look: Look): string {
  const { port, minutes, steps, cautions, never, after } = panelAdvice(rules, mode);
  const inLines = (word: string, texts: readonly string[]) =>
    texts.map((text) => `${inMargin(word, text, margin, look)}\n`);
  return [
    `${painter(look)('bold', `At the panel, ${tame(mode)} mode`)}\n`,
    fact('Port', port, look),
    fact('Wait', waitInWords(minutes), look),
    ...steps.map((step, index) => `${inMargin(`${index + 1}.`, step, margin, look)}\n`),
    ...inLines(
      'x',
      never.map((what) => `Never ${what}.`),
    ),
    fact('Afterwards', `${after.join('; ')}.`, look),
    ...inLines('!', [
      ...(rules['keeps-data'] ? [] : ['Everything on the panel is wiped.']),
      ...cautions,
      ...alwaysMind,
    ]),
  ].join('');
}

/** How long a panel takes; without the maker's figure none is made up. */
const waitInWords = (minutes: PanelAdvice['minutes']): string =>
  minutes === null
    ? "as long as the maker's document states, and a margin"
    : `${minutes.from} to ${minutes.to} min, and a margin`;
