import { signal } from '@preact/signals';
import { takeFamily } from './families/given-family.tsx';
import { takeList } from './round/list-part.tsx';
import { layOnShelf } from './shelf/add-form.tsx';
import { openPartOf, packagePart } from './slip/slip-part.tsx';
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
];

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
      : `${strange.map(({ name }) => name).join(', ')}: a desk has no use for such a file. A package ends with .zip, a family file with .yaml, a room list with .csv, .tsv or .xlsx.`;
  for (const { named, sheet, take } of kinds) {
    const own = files.filter(({ name }) => named.test(name));
    if (own.length === 0) continue;
    // The slip has a place of its own for packages.
    if (sheet === 'shelf' && ['', '#', '#slip'].includes(location.hash)) openPartOf(packagePart);
    else location.hash = sheet;
    take(own);
  }
}
