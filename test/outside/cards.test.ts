import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, vi } from 'vitest';
import { makeCards, makeLookCards, type RoomCard } from '../../src/core/rounds/cards/make-cards.ts';
import { makeCover, makeTags } from '../../src/core/rounds/cards/make-cover.ts';
import { readCardCode } from '../../src/core/rounds/records/card-code.ts';
import { findBrowser, printPage } from '../../src/io/cards/print-page.ts';
import { cardSizes } from '../../src/render/html/card-sizes.ts';
import { layOutCard } from '../../src/render/html/lay-out-card.ts';
import { renderCards } from '../../src/render/html/render-cards.ts';
import { renderCover } from '../../src/render/html/render-cover.ts';
import { renderTags } from '../../src/render/html/render-tags.ts';
import { dayInZone } from '../../src/render/zone.ts';
import { extremeRound } from '../fixtures/extreme-cards.ts';
import { allInAir, sampleRecords, sampleRound } from '../fixtures/round.ts';
import { evaluateInPage, readPdf, scanPdf } from './in-chromium.ts';
import { needs } from './needs.ts';

// Outside: Chromium lays the pages out and prints them, poppler's pdfinfo, pdftotext and pdftoppm read the PDF, zbar's
// zbarimg reads the codes.
/** Chromium starts slowly on a busy machine. */
vi.setConfig({ testTimeout: 240_000 });

const needed = { chromium: 'chromium', pdfinfo: 'poppler-utils', pdftotext: 'poppler-utils', zbarimg: 'zbar-tools' };
const folder = mkdtempSync(join(tmpdir(), 'stickwright-cards-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const papers = ['a5', 'a6'] as const;
const sample = sampleRound();
const sampleCards = makeCards(sample, sampleRecords(sample));
const extreme = extremeRound();
const extremeCards = makeCards(extreme, []);

async function print(name: string, page: string): Promise<string> {
  const html = join(folder, `${name}.html`);
  writeFileSync(html, page);
  const pdf = join(folder, `${name}.pdf`);
  writeFileSync(pdf, await printPage(await findBrowser(process.env, process.platform), html));
  return pdf;
}

/** Without blanks: a break of a line is one more or one less. */
const squeezed = (text: string): string => text.replace(/\s+/g, '');

interface MeasuredCard {
  readonly heightMm: number;
  readonly blocksMm: readonly number[];
  readonly outside: readonly string[];
  readonly sizesPt: readonly number[];
}

/** Each card's height and its blocks', whatever stands out of the card, and every size of text in it. */
const measure = `[...document.querySelectorAll('.card')].map((card) => {
  const mm = (px) => Math.round((px / 96) * 25.4 * 100) / 100;
  const frame = card.getBoundingClientRect();
  const blocks = [...card.querySelectorAll(':scope > :not(.foot):not(.pages), .foot > *')];
  const all = [...card.querySelectorAll('*')].filter((one) => !one.closest('svg') || one.tagName === 'svg');
  const outside = all.filter((one) => {
    const box = one.getBoundingClientRect();
    const stands = box.left < frame.left - 1 || box.right > frame.right + 1 || box.bottom > frame.bottom + 1;
    const cut = getComputedStyle(one).overflow !== 'visible' && one.tagName !== 'svg' && (one.scrollWidth > one.clientWidth || one.scrollHeight > one.clientHeight);
    return stands || cut || one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0 && getComputedStyle(one).display !== 'inline';
  }).map((one) => one.className || one.tagName);
  const texts = all.filter((one) => [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim() !== ''));
  return {
    heightMm: mm(frame.height),
    blocksMm: blocks.map((block) => mm(block.getBoundingClientRect().height + parseFloat(getComputedStyle(block).marginBottom))),
    outside,
    sizesPt: [...new Set(texts.map((one) => Math.round(parseFloat(getComputedStyle(one).fontSize) * 75) / 100))],
  };
})`;

const sheet = { round: 'Quillhaven', plannedAt: '2026-09-21T07:30:00+02:00' };

describe('room cards as Chromium lays them out', () => {
  for (const paper of papers) {
    const heightMm = cardSizes[paper][0]?.heightMm ?? 0;
    for (const [name, cards] of [
      ['the sample', sampleCards],
      ['extreme content', extremeCards],
    ] as const) {
      needs(needed)(`hold ${name} on ${paper} with nothing outside its card and no text below the least size`, () => {
        const measured = evaluateInPage<readonly MeasuredCard[]>(renderCards(cards, sheet, paper).page, measure);
        const sheets = cards.flatMap((card) => layOutCard(card, paper).map((page) => ({ card, page })));
        expect(measured.length).toBe(sheets.length);
        for (const [index, one] of measured.entries()) {
          const said = sheets[index]?.card.room.key;
          expect({ said, outside: one.outside }).toEqual({ said, outside: [] });
          expect(one.heightMm, said).toBeLessThanOrEqual(heightMm);
          expect(Math.min(...one.sizesPt), said).toBeGreaterThanOrEqual(paper === 'a5' ? 6.8 : 6.5);
        }
      });
    }
  }
});

/** Cards of rooms that update themselves; the second with more to do than any family should say. */
const lookCards = [
  ['the sample', makeLookCards(allInAir(sample))],
  [
    'extreme content',
    makeLookCards(
      allInAir(extreme, {
        todo: Array.from({ length: 9 }, (_, at) =>
          `${at + 1}: tap “Update at night” and wait for its word. `.repeat(3),
        ),
      }),
    ),
  ],
] as const;

describe('cards of rooms that update themselves', () => {
  for (const paper of papers) {
    const heightMm = cardSizes[paper][0]?.heightMm ?? 0;
    for (const [name, looks] of lookCards) {
      needs(needed)(`hold ${name} on ${paper}, on as many pages as reckoned, with codes that zbar reads`, async () => {
        const { page, pages } = renderCards([], sheet, paper, looks);
        const measured = evaluateInPage<readonly MeasuredCard[]>(page, measure);
        expect(looks.length).toBeGreaterThan(5);
        expect(measured.length).toBe(pages.reduce((sum, count) => sum + count, 0));
        for (const { outside, heightMm: high, sizesPt } of measured) {
          expect(outside).toEqual([]);
          expect(high).toBeLessThanOrEqual(heightMm);
          expect(Math.min(...sizesPt)).toBeGreaterThanOrEqual(paper === 'a5' ? 6.8 : 6.5);
        }
        if (name !== 'the sample') return;
        const pdf = await print(`looks-${paper}`, page);
        expect(readPdf(pdf).pages.map((text) => text.includes('NO STICK'))).toEqual(looks.map(() => true));
        expect(scanPdf(pdf, 200)).toEqual(looks.map(({ code }) => [code]));
      });
    }
  }
});

describe('room cards as PDF', () => {
  for (const paper of papers) {
    needs(needed)(`${paper}: one page each for the sample, with every field in it`, async () => {
      const pdf = await print(paper, renderCards(sampleCards, sheet, paper).page);
      const { pages, sizes } = readPdf(pdf);
      expect(pages.length).toBe(sampleCards.length);
      const [wide, high] = paper === 'a5' ? [148, 210] : [105, 148];
      for (const size of sizes) {
        const [width = 0, height = 0] = size.split(' x ').map((pt) => (Number(pt) / 72) * 25.4);
        expect(Math.abs(width - wide)).toBeLessThan(0.5);
        expect(Math.abs(height - high)).toBeLessThan(0.5);
      }
      for (const [index, card] of sampleCards.entries()) {
        const text = squeezed(pages[index] ?? '');
        for (const field of fieldsOf(card)) expect(text, `${card.room.key}: ${field}`).toContain(squeezed(field));
      }
    });

    needs(needed)(`${paper}: extreme cards take as many pages as reckoned`, async () => {
      const { page, pages } = renderCards(extremeCards, sheet, paper);
      const pdf = await print(`extreme-${paper}`, page);
      expect(readPdf(pdf).pages.length).toBe(pages.reduce((sum, count) => sum + count, 0));
      // The smaller paper has the smaller codes.
      if (paper === 'a5') return;
      const codes = scanPdf(pdf, 200).flat();
      expect(codes).toEqual(extremeCards.map(({ code }) => code));
      for (const [index, code] of codes.entries()) {
        const key = extremeCards[index]?.room.key;
        const { rooms, more } = readCardCode(code) ?? { rooms: [], more: 0 };
        expect(more === 1 ? (key?.length ?? 0) > 40 : rooms[0] === key, key).toBe(true);
      }
    });

    // 100 dots an inch is a fax or a poor photograph: a module of the code has about two dots.
    needs(needed)(`${paper}: zbar reads the sample's codes at 300 and at 100 dots an inch`, async () => {
      const pdf = await print(`codes-${paper}`, renderCards(sampleCards, sheet, paper).page);
      for (const dpi of [300, 100]) {
        expect(scanPdf(pdf, dpi), `${dpi} dots`).toEqual(sampleCards.map(({ code }) => [code]));
      }
    });
  }
});

function fieldsOf({ room, load, sticks, build, buildBefore, approval, step, steps }: RoomCard): readonly string[] {
  const { panel } = load;
  return [
    ...[room.room, room.label, room.asset, room.serial, room.notes, build, buildBefore, approval, sticks[0]].flatMap(
      (field) => field ?? [],
    ),
    `Load`,
    load.id,
    load.mode === 'in-os' ? 'in-OS' : 'recovery',
    load.wipes ? 'THIS WIPES THE PANEL' : 'keeps data',
    ...(steps > 1 ? [`Stick ${step} of ${steps}`] : []),
    ...(load.wipes && approval === null ? ['do not start'] : []),
    panel.port,
    ...panel.steps,
    ...panel.cautions,
    ...panel.never,
    ...panel.after,
    ...(panel.minutes === null ? [] : [`${panel.minutes.from} to ${panel.minutes.to} min`]),
    'a margin',
    'Start',
    'End',
    'Build after',
    'Initials',
    'exact words on the screen',
    'If it fails',
    'Stop at once',
    'Mains: never open the panel',
    'licensed electricians',
    'local codes',
    'authorised by the maker or the owner',
    'second person',
  ];
}

describe('tags and cover', () => {
  const tags = makeTags(sample, sampleRecords(sample));

  needs(needed)('every tag has its fields, and zbar reads its code at 300 and at 100 dots an inch', async () => {
    const pdf = await print('tags', renderTags(tags, sheet));
    const { pages } = readPdf(pdf);
    expect(pages.length).toBe(1);
    const text = squeezed(pages[0] ?? '');
    for (const { stick, load, preparedAt, labels } of tags) {
      const day = preparedAt === null ? null : dayInZone(preparedAt);
      for (const field of [stick, load.package.build, load.familyTitle, day, ...labels, 'Quillhaven, 2026-09-21']) {
        if (field !== null) expect(text).toContain(squeezed(field));
      }
    }
    for (const dpi of [300, 100])
      expect(scanPdf(pdf, dpi).flat().toSorted()).toEqual(tags.map(({ code }) => code).toSorted());
  });

  needs(needed)('the cover has totals, loads, wiping rooms, rooms for a person, and the order of work', async () => {
    const { pages } = readPdf(await print('cover', renderCover(makeCover(sample, sampleRecords(sample)))));
    const text = squeezed(pages.join('\n'));
    for (const { key, label } of sample.rooms.filter(({ state, wipes }) => wipes || state !== 'update')) {
      expect(text).toContain(squeezed(key));
      if (key !== 'Room 2.16') expect(text).toContain(squeezed(label));
    }
    for (const field of ['D. Harrow, 18 Sept 2026', 'not noted', '1:40', 'CLY-FTJ', 'desk: prepare', 'Stop at once']) {
      expect(text).toContain(squeezed(field));
    }
  });

  needs(needed)('hold extreme content inside the width of their page', () => {
    const outside = `(() => { const frame = document.querySelector('main').getBoundingClientRect();
      return [...document.querySelectorAll('main *')].filter((one) => !one.parentElement.closest('svg')).filter((one) => { const box = one.getBoundingClientRect(); return box.left < frame.left - 1 || box.right > frame.right + 1; }).map((one) => one.outerHTML.slice(0, 80)); })()`;
    for (const page of [renderTags(makeTags(extreme, []), sheet), renderCover(makeCover(extreme, []))]) {
      expect(evaluateInPage<readonly string[]>(page, outside)).toEqual([]);
    }
  });
});

describe('contrast', () => {
  /**
   * WCAG 2.2, relative luminance and contrast ratio; 7:1 is success criterion 1.4.6. Ground: the nearest that is not
   * transparent.
   */
  const contrasts = `[...document.querySelectorAll('main *')].filter((one) => !one.closest('svg') && [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim() !== '')).map((one) => {
    const parts = (colour) => colour.match(/[\\d.]+/g).map(Number);
    const light = ([r, g, b]) => [r, g, b].map((part) => part / 255).map((part) => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4).reduce((sum, part, index) => sum + part * [0.2126, 0.7152, 0.0722][index], 0);
    let ground = [255, 255, 255];
    for (let at = one; at !== null; at = at.parentElement) { const found = parts(getComputedStyle(at).backgroundColor); if (found.length === 3 || found[3] > 0) { ground = found; break; } }
    const [a, b] = [light(parts(getComputedStyle(one).color)), light(ground)].sort((x, y) => y - x);
    return Math.round(((a + 0.05) / (b + 0.05)) * 100) / 100;
  })`;

  needs(needed)('every text stands out from its ground by at least 7 to 1 (WCAG 2.2, 1.4.6)', () => {
    const records = sampleRecords(sample);
    for (const page of [
      renderCards(sampleCards, sheet, 'a5').page,
      renderTags(makeTags(sample, records), sheet),
      renderCover(makeCover(sample, records)),
    ]) {
      const found = evaluateInPage<readonly number[]>(page, contrasts);
      expect(found.length).toBeGreaterThan(20);
      expect(Math.min(...found)).toBeGreaterThanOrEqual(7);
    }
  });
});
