import { signal, useSignal } from '@preact/signals';
import jsQR from 'jsqr';
import { useEffect, useRef } from 'preact/hooks';
import { hasCamera, openCamera } from './phone.ts';
import { texts } from './texts.ts';

/** The browser's own reader of codes (Shape Detection, Barcode); few have it. It reads plates, too. */
interface OwnReader {
  detect(source: CanvasImageSource): Promise<readonly { readonly rawValue: string }[]>;
}
interface OwnReaderClass {
  new (): OwnReader;
  getSupportedFormats(): Promise<readonly string[]>;
}
const OwnReader = (globalThis as { BarcodeDetector?: OwnReaderClass }).BarcodeDetector;
export const hasOwnReader = signal(false);
/** Some browsers have the name and no reader behind it: they say that they read no form of code (Chromium on Linux). */
export async function askForOwnReader(): Promise<void> {
  const forms = await OwnReader?.getSupportedFormats().catch(() => []);
  hasOwnReader.value = forms?.some((form) => form !== 'unknown') === true;
}
let ownReader: OwnReader | undefined;

/** Longer sides take longer and show no more of a code. */
const longestSide = 1_000;

/** What a code in a picture says; undefined where none is found. */
async function readCode(
  source: CanvasImageSource,
  width: number,
  height: number,
  canvas: HTMLCanvasElement,
): Promise<string | undefined> {
  const scale = Math.min(1, longestSide / Math.max(width, height));
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (context === null) return undefined;
  context.drawImage(source, 0, 0, canvas.width, canvas.height);
  const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
  const found = jsQR(data, canvas.width, canvas.height)?.data;
  if (found !== undefined && found !== '') return found;
  if (OwnReader === undefined || !hasOwnReader.value) return undefined;
  try {
    ownReader ??= new OwnReader();
    return (await ownReader.detect(canvas))[0]?.rawValue;
  } catch {
    return undefined; // it may be refused, or have gone
  }
}

/** Between two looks at the film: a slow phone stays a phone. */
const restMs = 120;

interface ScanProps {
  readonly title: string;
  /** Hears what a code says; true: that was it, and the camera is let go. */
  readonly heard: (text: string) => boolean;
}

/** The camera where there is one and it is allowed, else a photo of the code. */
export function Scan({ title, heard }: ScanProps) {
  const film = useSignal<MediaStream | undefined>(undefined);
  const said = useSignal('');
  const video = useRef<HTMLVideoElement>(null);

  const stop = (): void => {
    for (const track of film.value?.getTracks() ?? []) track.stop();
    film.value = undefined;
  };
  const start = async (): Promise<void> => {
    said.value = '';
    try {
      film.value = await openCamera();
    } catch (cause) {
      said.value = texts.cameraRefused(cause instanceof Error ? cause.name : String(cause));
    }
  };

  useEffect(() => {
    const shown = video.current;
    const stream = film.value;
    if (shown === null || stream === undefined) return;
    let isOver = false;
    const canvas = document.createElement('canvas');
    shown.srcObject = stream;
    const look = async (): Promise<void> => {
      await shown.play().catch(() => {});
      while (!isOver) {
        const { videoWidth: width, videoHeight: height } = shown;
        const text = width === 0 ? undefined : await readCode(shown, width, height, canvas);
        if (isOver) return;
        if (text !== undefined && heard(text)) return stop();
        await new Promise((after) => setTimeout(after, restMs));
      }
    };
    void look();
    return () => {
      isOver = true;
      for (const track of stream.getTracks()) track.stop();
    };
  }, [film.value]);

  const readPhoto = async (input: HTMLInputElement): Promise<void> => {
    const [file] = input.files ?? [];
    if (file === undefined) return;
    const text = await textOfPhoto(file);
    input.value = '';
    if (text === undefined) said.value = texts.noCode;
    else if (heard(text)) said.value = '';
  };

  return (
    <div class="scan">
      {film.value === undefined ? (
        <div class="row">
          {hasCamera() && (
            <button type="button" onClick={start}>
              {title}
            </button>
          )}
          <label class="button">
            {texts.takePhoto}
            <input
              type="file"
              accept="image/*"
              capture="environment"
              class="behind"
              onChange={(event) => void readPhoto(event.currentTarget)}
            />
          </label>
        </div>
      ) : (
        <div class="camera">
          <p>{texts.pointAt}</p>
          <video ref={video} muted playsInline aria-label={texts.pointAt} />
          <button type="button" onClick={stop}>
            {texts.stop}
          </button>
        </div>
      )}
      <p role="status" class="said">
        {said.value}
      </p>
    </div>
  );
}

async function textOfPhoto(file: File): Promise<string | undefined> {
  const url = URL.createObjectURL(file);
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    return await readCode(image, image.naturalWidth, image.naturalHeight, document.createElement('canvas'));
  } catch {
    return undefined;
  } finally {
    URL.revokeObjectURL(url);
  }
}
