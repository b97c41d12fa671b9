import { encode } from 'uqr';
import { Html } from './html.ts';

/** White modules around a QR code that its standard asks for (ISO/IEC 18004, section on the quiet zone: 4). */
const quietModules = 4;

/**
 * A QR code as inline SVG: one path of black squares, so that it prints also where a browser leaves backgrounds out. SAYS is for
 * whoever does not see it.
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
