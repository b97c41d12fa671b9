import { signal } from '@preact/signals';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { countInWords } from '../../core/text/words.ts';
import { isPicture } from '../camera/load-reader.ts';
import { Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { Drop } from './drop.tsx';
import { hearPictures, PhoneCodes } from './phone-codes.tsx';
import { lookAtRound } from './round-state.ts';

interface MergeDocument extends ReportDocument {
  readonly merged?: readonly { readonly from: string; readonly added: number; readonly known: number }[];
  readonly recorded?: readonly unknown[];
}

const taken = signal<readonly { readonly name: string; readonly document: MergeDocument }[]>([]);
const pasted = signal('');

interface Given {
  readonly name: string;
  readonly bytes: Blob;
}

async function takeIn(files: readonly Given[]): Promise<void> {
  const answers: { name: string; document: MergeDocument }[] = [];
  for (const { name, bytes } of files) {
    const path = `/api/round/record/merge?name=${encodeURIComponent(name)}`;
    const document = await attempt(() => ask<MergeDocument>('POST', path, bytes));
    if (document !== undefined) answers.push({ name, document });
  }
  taken.value = answers;
  await lookAtRound();
}

const takeText = (name: string, text: string): Promise<void> => takeIn([{ name, bytes: new Blob([text]) }]);

/** Pictures of a phone's screen are read here; everything else is looked at by the server. */
export async function takeFiles(files: readonly File[]): Promise<void> {
  const pictures = files.filter(isPicture);
  const others = files.filter((file) => !pictures.includes(file));
  if (others.length > 0) await takeIn(others.map((file) => ({ name: file.name, bytes: file })));
  if (pictures.length > 0) await hearPictures(pictures, takeText);
}

/** Records of others, a filled list, or what a phone gives out: in any order, as often as they come. */
export function Merge() {
  return (
    <>
      <Drop
        words="Drop records of others, filled lists, or screenshots of the codes on a phone here"
        accept=".jsonl,.json,.txt,.csv,.tsv,.xlsx,image/*"
        several
        take={takeFiles}
      />
      <PhoneCodes takeIn={takeText} />
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void takeText('pasted.txt', pasted.value).then(() => {
            pasted.value = '';
          });
        }}
      >
        <label>
          Or paste the text that they sent
          <textarea
            rows={3}
            value={pasted.value}
            onInput={({ currentTarget }) => {
              pasted.value = currentTarget.value;
            }}
          />
        </label>
        <p>
          <button type="submit" disabled={pasted.value.trim() === ''}>
            Take it in
          </button>
        </p>
      </form>
      <div role="status">
        {taken.value.map(({ name, document }) => (
          <div key={name}>
            <p>
              <b>
                <Words>{name}</Words>
              </b>
              : {inWords(document)}
            </p>
            <Findings findings={document.findings} />
          </div>
        ))}
      </div>
    </>
  );
}

function inWords({ merged, recorded = [] }: MergeDocument): string {
  if (merged === undefined) return `${countInWords(recorded.length, 'row')} noted.`;
  const added = merged.reduce((sum, one) => sum + one.added, 0);
  const known = merged.reduce((sum, one) => sum + one.known, 0);
  return `${countInWords(added, 'line')} taken in, ${known.toLocaleString('en-US')} known already.`;
}
