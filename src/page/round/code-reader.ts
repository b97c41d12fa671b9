import jsQR from 'jsqr';

/** Longer sides take longer and show no more of a code. */
const longestSide = 1_000;

/** What a code in the picture says; undefined where none is found. */
export function readCode(film: HTMLVideoElement, canvas: HTMLCanvasElement): string | undefined {
  const { videoWidth, videoHeight } = film;
  if (videoWidth === 0 || videoHeight === 0) return undefined;
  const scale = Math.min(1, longestSide / Math.max(videoWidth, videoHeight));
  canvas.width = Math.round(videoWidth * scale);
  canvas.height = Math.round(videoHeight * scale);
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (context === null) return undefined;
  context.drawImage(film, 0, 0, canvas.width, canvas.height);
  const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
  return jsQR(data, canvas.width, canvas.height)?.data || undefined;
}
