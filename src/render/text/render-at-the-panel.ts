import type { ModeRules } from '../../core/model/family.ts';
import type { Mode } from '../../core/model/mode.ts';
import { inMargin, type Look, painter } from './page.ts';
import { fact } from './render-facts.ts';

const margin = 6;

/** What to do with the stick at the panel: the family's own words, and the cautions that always hold. */
export function renderAtThePanel(mode: Mode, rules: ModeRules, look: Look): string {
  const steps = rules.steps.map((step, index) => inMargin(`${index + 1}.`, step, margin, look));
  const cautions = [...(rules.cautions ?? []), ...always];
  return [
    `${painter(look)('bold', `At the panel, ${mode} mode`)}\n`,
    fact('Port', rules.port, look),
    ...steps.map((line) => `${line}\n`),
    ...cautions.map((caution) => `${inMargin('!', caution, margin, look)}\n`),
  ].join('');
}

/** Usual cautions of the trade; the maker's documents and local codes come first (common practice, no source). */
const always = [
  "The maker's service documentation comes first; service menus are for people whom the maker or the owner authorises.",
  'A panel is heavy and on mains: never open it, never lean on it, and leave wiring to licensed electricians.',
];
