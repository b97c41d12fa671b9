/** What a browser gives a page that was opened from a file differs; each is asked for, none is needed. */

const devices = (): MediaDevices | undefined => (navigator as { mediaDevices?: MediaDevices }).mediaDevices;

export const hasCamera = (): boolean => typeof devices()?.getUserMedia === 'function';

/** The camera on the back, where there are several. Throws what the browser says. */
export const openCamera = async (): Promise<MediaStream> => {
  const found = devices();
  if (found === undefined) throw new Error('none');
  return await found.getUserMedia({ video: { facingMode: 'environment', width: { ideal: 1280 } }, audio: false });
};

export const canShare = (file: File): boolean =>
  typeof navigator.share === 'function' && navigator.canShare?.({ files: [file] }) === true;

/** RFC 4122, 4.4. The browser's own function for it is for secure pages only, which a file need not be. */
export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x40;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

/** RFC 3339 with this phone's offset. */
export function localTime(at = new Date()): string {
  const offset = -at.getTimezoneOffset();
  const local = new Date(at.getTime() + offset * 60_000).toISOString().slice(0, 19);
  return `${local}${offset < 0 ? '-' : '+'}${two(Math.floor(Math.abs(offset / 60)))}:${two(Math.abs(offset % 60))}`;
}

const two = (number: number): string => String(number).padStart(2, '0');
const timeOf = (at: Date): string => `${two(at.getHours())}:${two(at.getMinutes())}`;

/** `2026-11-29 07:40`, on this phone's clock. */
export function momentOf(said: string | number): string {
  const at = new Date(said);
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${timeOf(at)}`;
}

/** `07:40`, with the day where it is another one. */
export function clockOf(said: string | number): string {
  const at = new Date(said);
  return at.toDateString() === new Date().toDateString() ? timeOf(at) : momentOf(said);
}

/** Asks the browser to put it among its downloads. */
export function saveFile(file: File): void {
  const url = URL.createObjectURL(file);
  const link = document.createElement('a');
  link.href = url;
  link.download = file.name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** False where it could not be copied; then the text in FIELD is selected, to be copied by hand. */
export async function copyText(field: HTMLTextAreaElement): Promise<boolean> {
  try {
    await navigator.clipboard.writeText(field.value);
    return true;
  } catch {
    field.focus();
    field.select();
    try {
      return document.execCommand('copy');
    } catch {
      return false;
    }
  }
}

/** Enough to read the words on a screen, and little enough to be kept: some hundred thousand bytes. */
const longestSide = 1_024;

/** A photo made small, as JPEG in base64; undefined where this browser cannot read it. */
export async function smallPhoto(file: File): Promise<string | undefined> {
  const url = URL.createObjectURL(file);
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    const scale = Math.min(1, longestSide / Math.max(image.naturalWidth, image.naturalHeight));
    const canvas = document.createElement('canvas');
    canvas.width = Math.max(1, Math.round(image.naturalWidth * scale));
    canvas.height = Math.max(1, Math.round(image.naturalHeight * scale));
    canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
    const [kind, jpeg] = canvas.toDataURL('image/jpeg', 0.7).split(',');
    return kind === 'data:image/jpeg;base64' ? jpeg : undefined;
  } catch {
    return undefined;
  } finally {
    URL.revokeObjectURL(url);
  }
}
