import { signal } from '@preact/signals';
import { picturesNamed } from './camera/load-reader.ts';
import { takeFamily } from './families/given-family.tsx';
import { takeList } from './round/list-part.tsx';
import { takeFiles } from './round/merge.tsx';
import { takeOrigin } from './sheet/published.tsx';
import { layOnShelf, newcomerOrigin, waitingNames } from './shelf/add-form.tsx';
import { readLabelIn } from './slip/label-code.tsx';
import { slipNames, slipOrigin } from './slip/origin.ts';
import { labelPart, openPartOf, packagePart } from './slip/slip-part.tsx';
import { trouble } from './state.ts';

/** A checksum list or a certificate, by its name. */
const ofTheMaker =
  /\.(pem|crt|cer|der)$|\.(sha-?(1|224|256|384|512)|md5)(sums?)?(\.txt|\.asc)?$|(^|[-_.])(sha-?(1|224|256|384|512)?|md5|check|hash)(sums?|es)([-_.]all)?(\.txt|\.asc)?$/i;

/** For the packages that wait to be added; else for the one on the slip. */
function takeOfTheMaker(files: readonly File[]): void {
  const isOfSlip = waitingNames().length === 0 && isSlipOnTop();
  void (isOfSlip ? takeOrigin(files, slipOrigin(), slipNames()) : takeOrigin(files, newcomerOrigin(), waitingNames()));
}

const isSlipOnTop = (): boolean => ['', '#', '#slip'].includes(location.hash);

/** What a file is by its name, and the sheet that it belongs to. */
const kinds: readonly {
  readonly named: RegExp;
  readonly sheet: string;
  readonly take: (files: readonly File[]) => void;
}[] = [
  { named: /\.zip$/i, sheet: 'shelf', take: layOnShelf },
  { named: /\.ya?ml$/i, sheet: 'families', take: takeFamily },
  { named: ofTheMaker, sheet: 'shelf', take: takeOfTheMaker },
  { named: /\.(csv|tsv|txt|xlsx)$/i, sheet: 'round/list', take: (files) => void takeList(files) },
  { named: picturesNamed, sheet: 'round/results', take: (files) => void takeFiles(files) },
];

/** The slip has places of its own for packages, and for a picture of the plate. */
const placesOnSlip: Readonly<
  Record<string, { readonly part: number; readonly take?: (files: readonly File[]) => void }>
> = {
  shelf: { part: packagePart },
  'round/results': { part: labelPart, take: readLabelIn },
};

/** Files are held over the page. */
export const isHeldOver = signal(false);

const hasFiles = ({ dataTransfer }: DragEvent): boolean => dataTransfer?.types.includes('Files') === true;

/** A file that is dropped anywhere goes to its sheet, which comes on top; the browser would open it instead. */
export function takeDropped(): void {
  addEventListener('dragover', (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    isHeldOver.value = true;
  });
  addEventListener('dragleave', (event) => {
    if (event.relatedTarget === null) isHeldOver.value = false;
  });
  addEventListener('drop', (event) => {
    isHeldOver.value = false;
    if (!hasFiles(event) || event.defaultPrevented) return;
    event.preventDefault();
    sort([...(event.dataTransfer?.files ?? [])]);
  });
}

function sort(files: readonly File[]): void {
  const strange = files.filter(({ name }) => !kinds.some(({ named }) => named.test(name)));
  trouble.value =
    strange.length === 0
      ? undefined
      : `${strange.map(({ name }) => name).join(', ')}: a desk has no use for such a file. A package ends with .zip, a family file with .yaml, a room list with .csv, .tsv or .xlsx, a checksum list with .sha256 or SHA256SUMS, a certificate with .pem or .crt; of a plate or of a phone’s codes it takes pictures.`;
  for (const kind of kinds) {
    const own = files.filter(({ name }) => kinds.find(({ named }) => named.test(name)) === kind);
    if (own.length === 0) continue;
    const onSlip = isSlipOnTop() ? placesOnSlip[kind.sheet] : undefined;
    if (onSlip === undefined) location.hash = kind.sheet;
    else openPartOf(onSlip.part);
    (onSlip?.take ?? kind.take)(own);
  }
}
