import { describe, expect, it } from 'vitest';
import { makeCards, makeLookCards } from '../../../src/core/rounds/cards/make-cards.ts';
import { makeCover, makeTags } from '../../../src/core/rounds/cards/make-cover.ts';
import { findRoom } from '../../../src/core/rounds/records/find-room.ts';
import { foldRound } from '../../../src/core/rounds/records/fold-round.ts';
import { relateBuilds } from '../../../src/core/rounds/records/read-visit.ts';
import { cardSizes } from '../../../src/render/html/card-sizes.ts';
import { html } from '../../../src/render/html/html.ts';
import { layOutCard } from '../../../src/render/html/lay-out-card.ts';
import { renderCards } from '../../../src/render/html/render-cards.ts';
import { renderCover } from '../../../src/render/html/render-cover.ts';
import { renderRoundReport } from '../../../src/render/html/render-round-report.ts';
import { renderTags } from '../../../src/render/html/render-tags.ts';
import { extremeRound } from '../../fixtures/extreme-cards.ts';
import { inAir, makeLoad, makeRoom, makeRound, sampleRecords, sampleRound } from '../../fixtures/round.ts';

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

describe('the paper of rooms that update themselves', () => {
  const air = makeRound({
    rooms: [
      makeRoom({ key: 'Room 2.14' }),
      makeRoom({ key: 'Assembly hall', state: 'over-the-air', steps: [], way: inAir() }),
      makeRoom({ key: 'Room 2.20', state: 'over-the-air', running: null, target: null, steps: [], way: inAir() }),
    ],
    loads: [makeLoad('A', 'sedge', 'in-os')],
  });

  it('has a card each behind those with sticks, with the build to expect and boxes for what was seen', () => {
    const { page, pages: sheets } = renderCards(makeCards(air, []), sheet, 'a5', makeLookCards(air));
    expect(sheets).toEqual([1, 1, 1]);
    const cards = page
      .split('<article')
      .slice(1)
      .map((card) => card.replace(/<\/?(span|bdi)[^>]*>/g, ''));
    expect(cards.map((card) => card.includes('NO STICK'))).toEqual([false, true, true]);
    expect(cards[1]).toContain('aria-label="Assembly hall, over the air"');
    for (const words of ['reed.746', 'reed.1717', 'switch its automatic update on', 'not yet', 'updated', 'failed'])
      expect(cards[1]).toContain(words);
    expect(cards[2]).toContain('not known');
    expect(makeLookCards(air, new Set(['Room 2.20'])).map(({ room }) => room.key)).toEqual(['Room 2.20']);
    const [code] = makeLookCards(air).map((card) => card.code);
    expect(findRoom(code ?? '', air.rooms, { label: undefined, serial: undefined })).toMatchObject({
      state: 'one',
      room: { key: 'Assembly hall' },
      stick: undefined,
    });
  });

  it('stands on the cover, counted, and on no cover without such rooms', () => {
    const cover = renderCover(makeCover(air, []));
    expect(cover).toContain('<dd>2</dd><dt>over the air</dt>');
    expect(cover).toContain('<dd>1</dd><dt>by stick</dt>');
    expect(cover).toContain('Over the air: no stick, look later');
    expect(renderCover(makeCover(round, records))).not.toContain('ver the air');
  });

  it('is told in the report as what is to be looked at', () => {
    const report = renderRoundReport(foldRound(air, [], relateBuilds([])), air.plannedAt);
    expect(report).toContain('Over the air, to be looked at (2)');
    expect(report).toContain('nobody yet');
  });
});
