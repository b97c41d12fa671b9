import { Refused } from '../talk.ts';

type Reader = typeof import('./code-reader.ts');

/**
 * The reader of codes, a megabyte: loaded where somebody opens the camera or gives a picture, and not before. Its files
 * lie beside the page's script; npm's package leaves the decoder out.
 */
export async function loadReader(): Promise<Reader> {
  const path = '/code-reader.js';
  try {
    const reader = (await import(path)) as Reader;
    await reader.wakeDecoder();
    return reader;
  } catch {
    throw new Refused(404, 'The reader of codes is not in this copy; the download has it. Type what the code says.');
  }
}

/** By its kind or, where a system says none, by its name. */
export const isPicture = ({ type, name }: File): boolean => /^image\//.test(type) || picturesNamed.test(name);

export const picturesNamed = /\.(png|jpe?g|webp|gif|bmp|avif|heic)$/i;

/** The codes in each of these pictures; undefined for what this browser cannot show. */
export async function codesInPictures(
  pictures: readonly File[],
): Promise<readonly { readonly name: string; readonly codes: readonly string[] | undefined }[]> {
  const { codesInPicture } = await loadReader();
  const found = [];
  for (const picture of pictures) {
    found.push({ name: picture.name, codes: await codesInPicture(picture).catch(() => undefined) });
  }
  return found;
}
