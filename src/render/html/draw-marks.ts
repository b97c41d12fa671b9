import { encode } from 'uqr';
import { Html, html, kept } from './html.ts';

/** Length of one slanted bar and the space after it. */
const stepMm = 4.2;

/**
 * Slanted black bars that fill whatever box they are put into, the sign of everything that wipes: told by its pattern,
 * without colour, and drawn, not a background, because browsers leave backgrounds out of print.
 */
export function drawHatch(id: string): Html {
  return new Html(
    `<svg class="hatch" aria-hidden="true"><pattern id="${id}" width="${stepMm}mm" height="${stepMm}mm" viewBox="0 0 2 2" patternUnits="userSpaceOnUse"><path d="M0 1L1 0H2L0 2zM2 1V2H1z"/></pattern><rect width="100%" height="100%" fill="url(#${id})"/></svg>`,
  );
}

/** A box to tick. */
export const box = new Html('<span class="box" aria-hidden="true"></span>');

/** A box and what it stands for; no line ends between the box and its first word. */
export function boxed(text: string, mark: Html = box): readonly (Html | string)[] {
  const [first = '', ...rest] = text.split(' ');
  return [kept(html`${mark} ${first}`), rest.length === 0 ? '' : ` ${rest.join(' ')}`];
}

/** A line to write on. */
export const line = new Html('<span class="line" aria-hidden="true"></span>');

/** White modules around a QR code that its standard asks for (ISO/IEC 18004, section on the quiet zone: 4). */
const quietModules = 4;

/**
 * A QR code as inline SVG: one path of black squares, so that it prints also where a browser leaves backgrounds out.
 * SAYS is for whoever does not see it.
 */
export function drawCode(text: string, says: string): Html {
  const { data, size } = encode(text, { ecc: 'M', boostEcc: true, border: quietModules });
  const runs = data.map((row, y) =>
    [
      ...row
        .map((dark) => (dark ? '1' : '0'))
        .join('')
        .matchAll(/1+/g),
    ]
      .map(({ index, 0: run }) => `M${index} ${y}h${run.length}v1h-${run.length}z`)
      .join(''),
  );
  const label = says.replace(/[&<>"']/g, ' ');
  return new Html(
    `<svg class="qr" role="img" aria-label="${label}" viewBox="0 0 ${size} ${size}" shape-rendering="crispEdges"><path d="${runs.join('')}"/></svg>`,
  );
}
