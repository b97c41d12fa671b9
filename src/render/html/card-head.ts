import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { type Block, type CardSizes, kickerOf, lineMm, round } from './card-sizes.ts';
import { type Html, html, nothing } from './html.ts';
import { countLines, mmOfPt, textWidthEm } from './text-width.ts';

const ruleMm = 0.9;

/** Room, asset, serial, label, and the code for a scanner, which CODE draws. */
export function headBlocks(card: Pick<RoomCard, 'room'>, code: Html, sizes: CardSizes): readonly Block[] {
  const columnMm = sizes.widthMm - sizes.codeMm - 2.5;
  const room = roomName(card, columnMm, sizes);
  const plate = plateBlock(card, sizes.dense ? columnMm : sizes.widthMm, sizes);
  const leftMm = room.heightMm + (sizes.dense ? plate.heightMm : sizes.gapMm);
  const head: Block = {
    html: html`<header class="head"><div class="where">${room.html}${sizes.dense ? plate.html : nothing}</div>${code}</header>`,
    heightMm: Math.max(sizes.codeMm + 0.8, leftMm + (sizes.dense ? 0.8 : 0)) + (sizes.dense ? 0 : ruleMm + sizes.gapMm),
  };
  return sizes.dense ? [head] : [head, plate];
}

function roomName({ room }: Pick<RoomCard, 'room'>, columnMm: number, sizes: CardSizes): Block {
  // One line if it can stay large, else two or more lines of what is still large.
  const fitting = columnMm / (textWidthEm(room.room, 'bold') * mmOfPt);
  const longest = Math.max(sizes.roomLeast, sizes.room * (room.room.length > 60 ? 0.45 : 0.6));
  const pt = round(Math.min(sizes.room, Math.max(fitting, longest)));
  const ids = [
    ...(room.asset === null ? [] : [{ name: 'Asset', value: room.asset }]),
    ...(room.serial === null ? [] : [{ name: 'Serial', value: room.serial }]),
  ];
  const text = ids.map(({ name, value }) => `${name} ${value}`).join(' ');
  const idsMm = ids.length === 0 ? 0 : countLines(text, columnMm, sizes.body, 'bold') * lineMm(sizes.body, sizes) + 0.6;
  return {
    html: html`<h2 class="room" dir="auto" style="font-size:${pt}pt">${room.room}</h2>${
      ids.length === 0
        ? nothing
        : html`<p class="ids">${ids.map(({ name, value }) => html`<span>${name} <b><bdi>${value}</bdi></b></span> `)}</p>`
    }`,
    heightMm: countLines(room.room, columnMm, pt, 'bold') * pt * mmOfPt * 1.1 + idsMm,
  };
}

/** The label, to compare with the plate character by character. */
function plateBlock({ room }: Pick<RoomCard, 'room'>, widthMm: number, sizes: CardSizes): Block {
  const kicker = kickerOf(sizes);
  const columnMm = widthMm - 6;
  const asideMm = sizes.short ? textWidthEm(besideLabel, 'regular') * kicker * mmOfPt + 2 : 0;
  const set = setLabel(room.label, columnMm - asideMm, sizes);
  const [lead, rest] = sizes.dense
    ? ['Label', '(digits underlined)']
    : ['Compare with the label on the panel', '(digits are underlined)'];
  const above = html`<p class="kicker">${lead} <i>${rest}</i></p>`;
  const label = html`<p class="label" style="font-size:${round(set.pt)}pt">${set.html}</p>`;
  const aboveMm = countLines(`${lead} ${rest}`, columnMm, kicker, 'bold') * lineMm(kicker, sizes);
  return {
    html: sizes.short
      ? html`<section class="plate aside">${label}<p class="kicker"><i>${besideLabel}</i></p></section>`
      : html`<section class="plate">${above}${label}</section>`,
    heightMm: (sizes.short ? 0 : aboveMm) + set.heightMm + 2.4 + sizes.gapMm,
  };
}

const besideLabel = 'label';

/**
 * Between characters, so that none runs into another; and how much a blank is wider than a character. The style says
 * the same.
 */
const spacingEm = 0.07;
const blankEm = 0.37;

interface SetLabel {
  readonly html: Html;
  readonly pt: number;
  readonly heightMm: number;
}

/**
 * A label so that no character is taken for another: digits are underlined, which tells O from 0, I from 1, S from 5, B
 * from 8, Z from 2 and G from 6 in any font; a blank on the plate is a wide gap. As large as the line takes, down to a
 * least size; then it wraps.
 */
function setLabel(label: string, columnMm: number, sizes: CardSizes): SetLabel {
  const blanks = label.split(/\s/).length - 1;
  const widthEm = textWidthEm(label, 'mono') + [...label].length * spacingEm + blanks * blankEm;
  const fitting = columnMm / (widthEm * mmOfPt);
  const pt = Math.max(sizes.labelLeast, Math.min(sizes.label, fitting));
  // Each character of a longer one takes its spacing too, which is a seventh more than the characters alone.
  const lines = fitting >= pt ? 1 : countLines(label, columnMm * 0.85, pt, 'mono') + Math.ceil(blanks / 15);
  const runs = label.match(/\d+|\s+|[^\d\s]+/gu) ?? [];
  return {
    html: html`<bdi>${runs.map((run) => {
      if (/^\s/.test(run)) return html`<span class="blank"> </span>`;
      return /^\d/.test(run) ? html`<u>${run}</u>` : html`${run}`;
    })}</bdi>`,
    pt,
    heightMm: lines * pt * mmOfPt * 1.3,
  };
}
