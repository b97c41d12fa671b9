import { useEffect, useRef, useState } from 'preact/hooks';

/** Between two looks at the film. */
const restMs = 120;

/** The decoder is loaded when somebody opens the camera, and not before; its file lies beside the page's script. */
const loadReader = async (): Promise<typeof import('./code-reader.ts')['readCode']> => {
  const path = '/code-reader.js';
  const { readCode } = (await import(path)) as typeof import('./code-reader.ts');
  return readCode;
};

/** A camera where there is one; everything here works without it. */
export function Camera({ heard }: { heard: (said: string) => void }) {
  const [film, setFilm] = useState<MediaStream | undefined>(undefined);
  const [said, setSaid] = useState('');
  const video = useRef<HTMLVideoElement>(null);
  useEffect(() => {
    const screen = video.current;
    if (film === undefined || screen === null) return undefined;
    let isOver = false;
    screen.srcObject = film;
    const canvas = document.createElement('canvas');
    const look = async (): Promise<void> => {
      const readCode = await loadReader();
      await screen.play();
      while (!isOver) {
        const code = readCode(screen, canvas);
        if (code !== undefined) {
          setFilm(undefined);
          setSaid('A code was read.');
          heard(code);
          return;
        }
        await new Promise((resolve) => setTimeout(resolve, restMs));
      }
    };
    look().catch(() => setSaid('The camera gives no picture. Type the code, or pick the room below.'));
    return () => {
      isOver = true;
      for (const track of film.getTracks()) track.stop();
    };
  }, [film]);
  if (navigator.mediaDevices?.getUserMedia === undefined) return null;
  const open = (): void => {
    setSaid('');
    navigator.mediaDevices
      .getUserMedia({ video: { facingMode: 'environment' } })
      .then(setFilm, () => setSaid('No camera can be used here. Type the code, or pick the room below.'));
  };
  return (
    <div class="camera">
      <button type="button" onClick={film === undefined ? open : () => setFilm(undefined)}>
        {film === undefined ? 'Use the camera' : 'Put the camera away'}
      </button>
      <span role="status">{said}</span>
      {film === undefined ? null : <video ref={video} muted playsInline aria-label="What the camera sees" />}
    </div>
  );
}
