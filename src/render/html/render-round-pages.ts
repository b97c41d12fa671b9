import type { Finding } from '../../core/findings/finding.ts';
import type { Round } from '../../core/model/round.ts';
import type { RoundRecord } from '../../core/model/round-record.ts';
import type { RoundCardsReport } from '../../core/report/round-reports.ts';
import { checkCards, makeCards, makeLookCards } from '../../core/rounds/cards/make-cards.ts';
import { makeCover, makeTags } from '../../core/rounds/cards/make-cover.ts';
import type { Paper } from './card-sizes.ts';
import { renderCards } from './render-cards.ts';
import { renderCover } from './render-cover.ts';
import { renderTags } from './render-tags.ts';

interface RoundPages extends Pick<RoundCardsReport, 'cards' | 'pages' | 'tags' | 'without'> {
  readonly files: readonly { readonly name: 'cards' | 'tags' | 'cover'; readonly page: string }[];
  readonly findings: readonly Finding[];
}

/** The paper of a round: a card a room, a tag a stick, a cover. ONLY: these rooms; the cover always shows all. */
export function renderRoundPages(
  plan: Round,
  records: readonly RoundRecord[],
  paper: Paper,
  only: ReadonlySet<string> | undefined,
): RoundPages {
  const cards = makeCards(plan, records, only);
  const tags = makeTags(plan, records, only);
  const cover = makeCover(plan, records);
  const sheet = { round: cover.name, plannedAt: cover.plannedAt };
  const looks = makeLookCards(plan, only);
  const rendered = renderCards(cards, sheet, paper, looks);
  return {
    files: [
      { name: 'cards', page: rendered.page },
      { name: 'tags', page: renderTags(tags, sheet) },
      { name: 'cover', page: renderCover(cover) },
    ],
    cards: cards.length + looks.length,
    tags: tags.length,
    findings: checkCards(cards, rendered.pages, cover.name),
    pages: rendered.pages.reduce((sum, count) => sum + count, 0),
    without: plan.rooms
      .filter(({ key, state }) => only?.has(key) === true && state !== 'update' && state !== 'over-the-air')
      .map(({ key, state }) => ({ room: key, state })),
  };
}
