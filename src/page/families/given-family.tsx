import { signal } from '@preact/signals';
import type { Family } from '../../core/model/family.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { Findings } from '../sheet/findings.tsx';
import { Words } from '../sheet/marks.tsx';
import { attempt } from '../state.ts';
import { ask } from '../talk.ts';
import { FamilyPlate } from './family-plate.tsx';

interface Given {
  readonly name: string;
  readonly text: string;
  readonly document: ReportDocument & {
    readonly families: readonly { readonly source: string; readonly content: Family }[];
  };
}

const given = signal<Given | undefined>(undefined);

const largestBytes = 200_000;

const send = (name: string, text: string, write: boolean): Promise<Given['document']> =>
  ask('POST', '/api/families/add', { name, text, write });

/** Reads a colleague's file and shows what it says, beside what is here; nothing is copied before somebody agrees. */
export const takeFamily = (files: readonly File[]): void => {
  const [file] = files;
  if (file === undefined) return;
  void attempt(async () => {
    if (file.size > largestBytes) throw new Error(`${file.name} is too large for a family file.`);
    const text = await file.text();
    given.value = { name: file.name, text, document: await send(file.name, text, false) };
  });
};

export function GivenFamily() {
  const one = given.value;
  const add = async (): Promise<void> => {
    if (one === undefined) return;
    if ((await attempt(() => send(one.name, one.text, true))) !== undefined) given.value = undefined;
  };
  return (
    <section class="given-family" aria-label="A colleague's family">
      <label class="drop-place">
        <b>Drop a colleague's family file anywhere on this page</b>, or choose it
        <input
          type="file"
          accept=".yaml,.yml"
          onChange={({ currentTarget }) => {
            takeFamily([...(currentTarget.files ?? [])]);
            currentTarget.value = '';
          }}
        />
      </label>
      {one === undefined ? null : (
        <div class="work-card">
          <h2>
            What <Words>{one.name}</Words> says
          </h2>
          <Findings findings={one.document.findings} />
          {one.document.families.map(({ source, content }) => (
            <FamilyPlate key={content.family} family={{ ...content, source }} />
          ))}
          <p class="buttons">
            {one.document.verdict === 'not-ready' ? null : (
              <button type="button" class="next" onClick={() => void add()}>
                Copy it to this desk
              </button>
            )}
            <button
              type="button"
              onClick={() => {
                given.value = undefined;
              }}
            >
              No, put it away
            </button>
          </p>
        </div>
      )}
    </section>
  );
}
