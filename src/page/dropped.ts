import { signal } from '@preact/signals';
import { picturesNamed } from './camera/load-reader.ts';
import { takeFamily } from './families/given-family.tsx';
import { takeList } from './round/list-part.tsx';
import { takeFiles } from './round/merge.tsx';
import { layOnShelf } from './shelf/add-form.tsx';
import { readLabelIn } from './slip/label-code.tsx';
import { labelPart, openPartOf, packagePart } from './slip/slip-part.tsx';
import { trouble } from './state.ts';

/** What a file is by its name, and the sheet that it belongs to. */
const kinds: readonly {
  readonly named: RegExp;
  readonly sheet: string;
  readonly take: (files: readonly File[]) => void;
}[] = [
  { named: /\.zip$/i, sheet: 'shelf', take: layOnShelf },
  { named: /\.ya?ml$/i, sheet: 'families', take: takeFamily },
  { named: /\.(csv|tsv|txt|xlsx)$/i, sheet: 'round/list', take: (files) => void takeList(files) },
  { named: picturesNamed, sheet: 'round/results', take: (files) => void takeFiles(files) },
];

/** The slip has places of its own for packages, and for a picture of the plate. */
const onSlip: Readonly<Record<string, { readonly part: number; readonly take: (files: readonly File[]) => void }>> = {
  shelf: { part: packagePart, take: layOnShelf },
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
      : `${strange.map(({ name }) => name).join(', ')}: a desk has no use for such a file. A package ends with .zip, a family file with .yaml, a room list with .csv, .tsv or .xlsx; of a plate or of a phone’s codes it takes pictures.`;
  for (const { named, sheet, take } of kinds) {
    const own = files.filter(({ name }) => named.test(name));
    if (own.length === 0) continue;
    const place = ['', '#', '#slip'].includes(location.hash) ? onSlip[sheet] : undefined;
    if (place === undefined) {
      location.hash = sheet;
      take(own);
    } else {
      openPartOf(place.part);
      place.take(own);
    }
  }
}
