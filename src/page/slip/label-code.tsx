import { signal } from '@preact/signals';
import { readLabel } from '../../core/label/read-label.ts';
import { Camera } from '../camera/camera.tsx';
import { codesInPictures } from '../camera/load-reader.ts';
import { Words } from '../sheet/marks.tsx';
import { attempt, desk } from '../state.ts';
import { takePlate } from './take-plate.ts';

const otherwise = 'Type the label.';
/** So many looks at a plate with several codes show them all. */
const looks = 3;

/** What the codes of the last look said, where there are several: which one is the model, a person says. */
const several = signal<readonly string[]>([]);
/** What each look of the camera showed so far. */
let seen: readonly (readonly string[])[] = [];
const said = signal('');

function take(code: string): void {
  several.value = [];
  said.value = 'It was read from the bars; a person reads the print: do so for the second entry.';
  takePlate(code);
}

function choose(codes: readonly string[]): void {
  const [only, ...others] = codes;
  if (only === undefined) return;
  said.value = '';
  if (others.length === 0) take(only);
  else several.value = codes;
}

/** A photo of the plate. */
export function readLabelIn(pictures: readonly File[]): void {
  void attempt(async () => {
    const codes = (await codesInPictures(pictures)).flatMap((one) => one.codes ?? []);
    several.value = [];
    if (codes.length === 0) said.value = `No code was found in the picture. ${otherwise}`;
    else choose([...new Set(codes)]);
  });
}

/** One that some family reads is enough; else the others of the plate are waited for, too. */
function hear(codes: readonly string[]): boolean {
  seen = [...seen, codes];
  const isLabel = codes.some((code) => readLabel(code, desk.value?.families ?? []).readings.length > 0);
  if (!isLabel && seen.length < looks) return false;
  choose([...new Set(seen.flat())]);
  seen = [];
  return true;
}

/** The code on a plate, by a camera or from a photo: it is written into the field, and judged as what is typed. */
export function LabelCode() {
  return (
    <div class="label-code">
      <div class="buttons">
        <Camera title="Read its barcode with the camera" otherwise={otherwise} heard={hear} />
        <label class="quiet">
          or from a photo of it{' '}
          <input
            type="file"
            accept="image/*"
            onChange={({ currentTarget }) => {
              readLabelIn([...(currentTarget.files ?? [])]);
              currentTarget.value = '';
            }}
          />
        </label>
      </div>
      <p role="status">{said}</p>
      {several.value.length === 0 ? null : (
        <div>
          <p>
            <b>There are several codes. Which one is the model?</b>
          </p>
          <p class="buttons">
            {several.value.map((code) => (
              <button key={code} type="button" onClick={() => take(code)}>
                <Words>{code}</Words>
              </button>
            ))}
          </p>
        </div>
      )}
    </div>
  );
}
