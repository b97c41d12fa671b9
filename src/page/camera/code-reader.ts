import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader';

// The decoder itself lies beside this script: no request leaves this computer.
const decoder = { overrides: { locateFile: () => '/code-reader.wasm' } };

/** Rejects where the decoder is not there. */
export const wakeDecoder = async (): Promise<unknown> => prepareZXingModule({ ...decoder, fireImmediately: true });

/** More of a film takes longer and shows no more of a code. */
const longestOfFilm = 1_600;
/** A screenshot or a photo is looked at once. */
const longestOfPicture = 4_000;

/** What the codes in this moment of a film say, each once: those of cards and phones, and the bars on plates. */
export const codesInFilm = (film: HTMLVideoElement): Promise<readonly string[]> =>
  codesIn(film, film.videoWidth, film.videoHeight, longestOfFilm);

/** The same in a picture, of whatever kind this browser shows; rejects where it shows none. */
export async function codesInPicture(picture: Blob): Promise<readonly string[]> {
  const bitmap = await createImageBitmap(picture);
  try {
    return await codesIn(bitmap, bitmap.width, bitmap.height, longestOfPicture);
  } finally {
    bitmap.close();
  }
}

const canvas = document.createElement('canvas');

async function codesIn(
  source: CanvasImageSource,
  width: number,
  height: number,
  longest: number,
): Promise<readonly string[]> {
  if (width === 0 || height === 0) return [];
  const scale = Math.min(1, longest / Math.max(width, height));
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (context === null) return [];
  context.drawImage(source, 0, 0, canvas.width, canvas.height);
  const found = await readBarcodes(context.getImageData(0, 0, canvas.width, canvas.height), { textMode: 'Plain' });
  return [...new Set(found.filter(({ isValid }) => isValid).map(({ text }) => text))].filter((text) => text !== '');
}
