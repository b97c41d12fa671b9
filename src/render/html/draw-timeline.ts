import type { CoverSheet } from '../../core/rounds/cards/make-cover.ts';
import { Html, html, nothing } from './html.ts';
import { inHours } from './in-hours.ts';

/** More rows would not be a glance any more. */
const mostSticks = 16;
const rowMm = 5.4;
const nameMm = 15;
const widthMm = 184;

/** One row a stick, one bar a turn: white at the desk, black in a room, slanted where it wipes; the table below says the same in words. */
export function drawTimeline({ turns, sticks, totalMinutes }: CoverSheet): Html {
  if (turns.length === 0 || sticks === 0 || sticks > mostSticks) return nothing;
  const mmOfMinute = (widthMm - nameMm) / Math.max(1, totalMinutes);
  const heightMm = sticks * rowMm + 5;
  const at = (minute: number): number => round(nameMm + minute * mmOfMinute);
  const names = Array.from({ length: sticks }, (_, index) =>
    text(0, (index + 0.68) * rowMm, `stick ${index + 1}`, 'start'),
  );
  const bars = turns.map(({ stick, startMinute, endMinute, room, load, wipes }) => {
    const wide = round(Math.max(0.3, (endMinute - startMinute) * mmOfMinute - 0.5));
    const x = at(startMinute);
    const y = round((stick - 1) * rowMm + 0.7);
    const fill = room === null ? '#fff' : wipes ? 'url(#slanted)' : '#000';
    const bar = `<rect x="${x}" y="${y}" width="${wide}" height="${rowMm - 1.4}" fill="${fill}" stroke="#000" stroke-width=".3"/>`;
    if (wide < 3.5) return bar;
    const middle = round(x + wide / 2);
    const ground = wipes && room !== null ? `<circle cx="${middle}" cy="${y + 2}" r="1.9" fill="#fff"/>` : '';
    return bar + ground + text(middle, y + 3, load, 'middle', room === null || wipes ? '#000' : '#fff');
  });
  const step = [15, 30, 60, 120, 240, 480, 1440].find((minutes) => totalMinutes / minutes <= 9) ?? 2880;
  const marks = Array.from({ length: Math.floor(totalMinutes / step) + 1 }, (_, index) => {
    const x = at(index * step);
    const anchor = x > widthMm - 6 ? 'end' : index === 0 ? 'start' : 'middle';
    return `<path d="M${x} 0V${sticks * rowMm + 1}" stroke="#000" stroke-width=".15"/>${text(x, heightMm - 0.7, inHours(index * step), anchor)}`;
  });
  return new Html(
    `<svg class="timeline" aria-hidden="true" viewBox="0 0 ${widthMm} ${heightMm}">${slanted}${marks.join('')}${names.join('')}${bars.join('')}</svg>`,
  );
}

const slanted =
  '<pattern id="slanted" width="2" height="2" viewBox="0 0 2 2" patternUnits="userSpaceOnUse"><rect width="2" height="2" fill="#fff"/><path d="M0 1L1 0H2L0 2zM2 1V2H1z"/></pattern>';

const text = (x: number, y: number, words: string, anchor: string, fill = '#000'): string =>
  `<text x="${round(x)}" y="${round(y)}" font-size="3" font-weight="700" text-anchor="${anchor}" fill="${fill}">${html`${words}`.markup}</text>`;

const round = (mm: number): number => Math.round(mm * 100) / 100;
