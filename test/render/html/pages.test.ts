import { describe, expect, it } from 'vitest';
import { makeCards } from '../../../src/core/rounds/cards/make-cards.ts';
import { makeCover, makeTags } from '../../../src/core/rounds/cards/make-cover.ts';
import { cardSizes } from '../../../src/render/html/card-sizes.ts';
import { html } from '../../../src/render/html/html.ts';
import { layOutCard } from '../../../src/render/html/lay-out-card.ts';
import { renderCards } from '../../../src/render/html/render-cards.ts';
import { renderCover } from '../../../src/render/html/render-cover.ts';
import { renderTags } from '../../../src/render/html/render-tags.ts';
import { extremeRound } from '../../fixtures/extreme-cards.ts';
import { sampleRecords, sampleRound } from '../../fixtures/round.ts';

const round = sampleRound();
const sheet = { round: 'Quillhaven', plannedAt: round.plannedAt };
const records = sampleRecords(round);
const extreme = extremeRound();

const pages = (of: typeof round) => [
  renderCards(makeCards(of, records), sheet, 'a5').page,
  renderCards(makeCards(of, records), sheet, 'a6').page,
  renderTags(makeTags(of, records), sheet),
  renderCover(makeCover(of, records)),
];

const extremePages = pages(extreme);

describe('the html tag', () => {
  it('escapes every text, and takes markup and lists of it as they are', () => {
    expect(html`<a b="${'"<&>\''}">${[html`<i>${'<'}</i>`, 'x']}${1}</a>`.markup).toBe(
      '<a b="&quot;&lt;&amp;&gt;&#39;"><i>&lt;</i>x1</a>',
    );
  });

  it('shows characters that steer a terminal or turn the text around as what they are', () => {
    expect(html`${'a\u0000\u001b[2Jb\u202ec\u2067d'}`.markup).toBe('a\\x00\\x1b[2Jb\\u202ec\\u2067d');
  });
});

describe('pages to print', () => {
  it('are whole in one file: no script, nothing fetched, a language, a heading each', () => {
    for (const page of [...pages(round), ...extremePages]) {
      expect(page).toMatch(/^<!doctype html>\n<html lang="en">/);
      expect(page).toContain("default-src 'none'");
      expect(page).not.toMatch(/<script|<link|<img|url\((?!#)|https?:|javascript:|\son[a-z]+=/i);
    }
  });

  it('let no text of a list become markup', () => {
    for (const page of extremePages) expect(page).not.toContain('<script>alert');
    expect(extremePages[0]).toContain('&lt;script&gt;alert(1)&lt;/script&gt;');
  });

  it('are the same bytes for the same round', () => {
    expect(pages(sampleRound())).toEqual(pages(sampleRound()));
  });

  it('say that there is nothing where there is nothing', () => {
    expect(renderCards([], sheet, 'a5').page).toContain('No room here takes a stick.');
    expect(renderTags([], sheet)).toContain('No stick is needed here.');
  });
});

describe('how a card is laid out', () => {
  it('takes one page for each card of the sample, on both papers', () => {
    for (const paper of ['a5', 'a6'] as const) {
      expect(renderCards(makeCards(round, records), sheet, paper).pages).toEqual([1, 1, 1, 1, 1, 1, 1]);
    }
  });

  it('leaves no step out where it goes on, and says the page on each', () => {
    const [card] = makeCards(extreme, []).filter(({ load }) => load.panel.steps.length > 20);
    if (card === undefined) throw new Error('no long card');
    const sheets = layOutCard(card, 'a6');
    expect(sheets.length).toBeGreaterThan(1);
    const { page } = renderCards([card], sheet, 'a6');
    for (let number = 1; number <= card.load.panel.steps.length; number++) {
      expect(page.split(`number">${number}</b>`).length, `step ${number}`).toBe(2);
    }
    expect(page).toContain(`page 1 of ${sheets.length}`);
    expect(page).toContain(`page ${sheets.length} of ${sheets.length}`);
  });

  it('never goes below the least sizes', () => {
    for (const sizes of [...cardSizes.a5, ...cardSizes.a6]) {
      expect(sizes.body).toBeGreaterThanOrEqual(sizes.paper === 'a5' ? 8 : 6.5);
      for (const pt of [sizes.key, sizes.labelLeast, sizes.roomLeast]) expect(pt).toBeGreaterThanOrEqual(11);
    }
  });

  it('underlines the digits of a label, and the wiping ones alone carry the bars', () => {
    const cards = makeCards(round, records);
    const pageOf = (key: string) =>
      renderCards(
        cards.filter(({ room }) => room.key === key),
        sheet,
        'a5',
      ).page;
    expect(pageOf('Room 2.14')).toContain('K<u>2</u>-second<span class="blank"> </span><u>75</u>/<u>5</u>B');
    expect(pageOf('Room 2.14')).not.toContain('THIS WIPES THE PANEL');
    expect(pageOf('Library')).toContain('THIS WIPES THE PANEL');
    expect(pageOf('Library')).toContain('class="bars"');
  });
});
