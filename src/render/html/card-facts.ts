import { modeTraits } from '../../core/model/mode.ts';
import type { LookCard, RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { usualMinutes } from '../../core/rounds/plan/usual-practice.ts';
import { type Block, type CardSizes, kickerOf, leastAtArmsLengthPt, leastPt, lineMm, round } from './card-sizes.ts';
import { line } from './draw-marks.ts';
import { type Html, html, nothing } from './html.ts';
import { countLines, mmOfPt, textWidthEm } from './text-width.ts';

interface Fact {
  readonly name: string;
  readonly value: Html;
  /** The value as plain text, for measuring; empty where it is a line to write on. */
  readonly text: string;
  readonly face: 'bold' | 'mono';
  readonly under?: string;
  readonly kind?: string;
  /** Share of the card's width. */
  readonly share: number;
}

/** Stick, load, mode; build before and after, and how long it takes. */
export function factsBlock(card: RoomCard, sizes: CardSizes): Block {
  return factRows([stickFacts(card), ...buildFacts(card, sizes)], sizes);
}

function factRows(facts: readonly (readonly Fact[])[], sizes: CardSizes): Block {
  const rows = facts.map((row) => row.map((fact) => factCell(fact, sizes)));
  return {
    html: html`<div class="facts">${rows.map((row) => html`<dl class="row">${row.map((cell) => cell.html)}</dl>`)}</div>`,
    heightMm: rows.reduce((sum, row) => sum + Math.max(...row.map(({ heightMm }) => heightMm)), 0.3) + sizes.gapMm,
  };
}

/** Of a room that updates itself: the build before, and the one to expect where somebody says it. */
export function lookFactsBlock({ room, build }: LookCard, sizes: CardSizes): Block {
  const before =
    room.running === null
      ? { ...blank, name: 'Build now (About page)' }
      : { ...mono(room.running), name: 'Build now', kind: 'before' };
  const expected = build === null ? words('not known') : mono(build);
  return factRows(inShares([before, { ...expected, name: 'Build to expect, or a newer one' }], sizes), sizes);
}

function stickFacts({ sticks, load, step, steps }: RoomCard): readonly Fact[] {
  const [stick, ...others] = sticks;
  const name = steps > 1 ? `Stick ${step} of ${steps}` : 'Stick';
  const same = others.length > 0 ? { under: `the same: ${others.join(', ')}` } : {};
  return [
    stick === undefined
      ? { ...blank, name: `${name}: code of its tag`, share: 0.36 }
      : { ...mono(stick), ...same, name, share: 0.36 },
    { ...words(load.id), name: 'Load', share: 0.16 },
    {
      ...words(`${modeTraits[load.mode].inWords}${load.wipes ? ', wipes' : ', keeps data'}`),
      name: 'Mode',
      share: 0.48,
    },
  ];
}

/** Without the maker's figure none is made up: what is usual is told as usual. */
function buildFacts(
  { buildBefore, build, load: { panel, mode } }: RoomCard,
  sizes: CardSizes,
): readonly (readonly Fact[])[] {
  const usual = usualMinutes[mode];
  const wait =
    panel.minutes === null
      ? { ...words('see document'), under: `${usual.from} to ${usual.to} min is usual` }
      : {
          ...words(`${panel.minutes.from} to ${panel.minutes.to} min`),
          ...(sizes.short ? {} : { under: 'a dark or still screen is no fault' }),
        };
  const before =
    buildBefore === null
      ? { ...blank, name: 'Build now (About page)' }
      : { ...mono(buildBefore), name: 'Build now', kind: 'before' };
  return inShares([before, { ...mono(build), name: 'Target build' }, { ...wait, name: 'Wait, and a margin' }], sizes);
}

/**
 * A build is compared at a glance and must not break in two: long ones take from what the others do not need, and a row
 * of their own where that is not enough.
 */
function inShares(facts: readonly Omit<Fact, 'share'>[], { widthMm }: CardSizes): readonly (readonly Fact[])[] {
  const needs = facts.map(
    ({ text, face }) => (Math.max(6, textWidthEm(text, face)) * leastAtArmsLengthPt * mmOfPt + paddingMm) / widthMm,
  );
  const spare = (1 - needs.reduce((sum, need) => sum + need, 0)) / facts.length;
  if (spare < 0) return facts.map((fact) => [{ ...fact, share: 1 }]);
  return [facts.map((fact, index) => ({ ...fact, share: (needs[index] ?? 0) + spare }))];
}

/** Left and right of a fact. */
const paddingMm = 3.8;

const mono = (text: string) => ({ value: html`<bdi>${text}</bdi>`, text, face: 'mono' as const });
const words = (text: string) => ({ value: html`${text}`, text, face: 'bold' as const });
const blank = { value: line, text: '', face: 'bold' as const };

function factCell({ name, value, text, under, kind, face, share }: Fact, sizes: CardSizes): Block {
  const columnMm = sizes.widthMm * share - paddingMm;
  const kicker = kickerOf(sizes);
  const fitting = columnMm / (Math.max(1, textWidthEm(text, face)) * mmOfPt);
  const least = face === 'mono' ? leastPt : leastAtArmsLengthPt; // smaller before it is broken
  const pt = round(text === '' ? sizes.key : Math.max(least, Math.min(sizes.key, fitting)));
  const keyMm = (text === '' ? 1 : countLines(text, columnMm, pt, face)) * Math.max(pt, sizes.key) * mmOfPt * 1.15;
  const underMm = under === undefined ? 0 : countLines(under, columnMm, kicker) * lineMm(kicker, sizes);
  return {
    html: html`<div class="fact" style="width:${round(share * 100)}%"><dt class="kicker">${name}</dt><dd class="key ${face} ${kind ?? ''}" style="font-size:${pt}pt">${value}</dd>${
      under === undefined ? nothing : html`<dd class="under">${under}</dd>`
    }</div>`,
    heightMm: countLines(name, columnMm, kicker, 'bold') * lineMm(kicker, sizes) + keyMm + underMm + 1.7,
  };
}
