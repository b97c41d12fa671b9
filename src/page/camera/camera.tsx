import { useEffect, useRef, useState } from 'preact/hooks';
import { loadReader } from './load-reader.ts';

/** Between two looks at the film. */
const restMs = 120;

/**
 * Small bars and codes of many modules need the points; a camera that has fewer gives those. Nothing is cut off to come
 * near the wish (Media Capture and Streams Extensions, resizeMode).
 */
const wish = { facingMode: 'environment', width: { ideal: 1_920 }, height: { ideal: 1_080 }, resizeMode: 'none' };

interface CameraWords {
  /** What its button says. */
  readonly title: string;
  /** What to do where there is no camera. */
  readonly otherwise: string;
  /** Hears the codes of one look, where there are any; true: that was it, and the camera is put away. */
  readonly heard: (codes: readonly string[]) => boolean;
}

/** A camera where there is one; everything here works without it. */
export function Camera({ title, otherwise, heard }: CameraWords) {
  const [film, setFilm] = useState<MediaStream | undefined>(undefined);
  const [said, setSaid] = useState('');
  const video = useRef<HTMLVideoElement>(null);
  const hears = useRef(heard);
  hears.current = heard;
  useEffect(() => {
    const screen = video.current;
    if (film === undefined || screen === null) return undefined;
    let isOver = false;
    screen.srcObject = film;
    const look = async (): Promise<void> => {
      const { codesInFilm } = await loadReader();
      await screen.play();
      while (!isOver) {
        const codes = await codesInFilm(screen);
        if (!isOver && codes.length > 0 && hears.current(codes)) {
          setFilm(undefined);
          setSaid('It was read.');
          return;
        }
        await new Promise((resolve) => setTimeout(resolve, restMs));
      }
    };
    look().catch(() => {
      if (!isOver) setSaid(`The camera gives no picture, or its reader is not here. ${otherwise}`);
    });
    return () => {
      isOver = true;
      for (const track of film.getTracks()) track.stop();
    };
  }, [film]);
  if (navigator.mediaDevices?.getUserMedia === undefined) return null;
  const open = (): void => {
    setSaid('');
    navigator.mediaDevices
      .getUserMedia({ video: wish })
      .then(setFilm, () => setSaid(`No camera can be used here. ${otherwise}`));
  };
  return (
    <div class="camera">
      <button type="button" onClick={film === undefined ? open : () => setFilm(undefined)}>
        {film === undefined ? title : 'Put the camera away'}
      </button>
      <span role="status">{said}</span>
      {film === undefined ? null : <video ref={video} muted playsInline aria-label="What the camera sees" />}
    </div>
  );
}
